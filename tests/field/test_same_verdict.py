"""The phone's preview and the server's verdict are one: the same cases in both languages, then any readings at all."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.sync.site_records import limits_for_phone
from inspections.trueness.measures import MEASURES
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.verdict import Verdict, judge
from sitetrack.kit.lengths import LengthError, format_length, parse_length

TABLE = json.loads((Path(__file__).parent / "verdict_cases.json").read_text())
CASES = [{"required": None, "opening": TABLE["opening"], "profile": None} | case for case in TABLE["cases"]]
JUDGE = """async (cases) => {
  const { judge } = await import("/static/field/trueness.js");
  return cases.map(([readings, opening, profile, required]) => judge(readings, opening, profile, required));
}"""


def nominal(opening: dict[str, str] | None) -> NominalOpening | None:
    return opening and NominalOpening(parse_length(opening["width"]), parse_length(opening["height"]))


def on_server(case: dict[str, Any]) -> Verdict:
    profile = ToleranceProfile.from_dict(case["profile"])
    return judge(case["readings"], opening=nominal(case["opening"]), profile=profile, required=case["required"])


def as_phone_takes_it(case: dict[str, Any]) -> list[Any]:
    opening = nominal(case["opening"])
    size = {"width": opening.width.nm, "height": opening.height.nm} if opening else {"width": None, "height": None}
    profile = limits_for_phone(ToleranceProfile.from_dict(case["profile"]))
    return [case["readings"], size, profile, profile["required"] if case["required"] is None else case["required"]]


def told_alike(verdict: Verdict) -> dict[str, Any]:
    """A verdict in the phone's words."""
    return {
        "verdict": verdict.verdict.value,
        "items": [
            {"name": i.name, "value": i.value.nm, "least": i.least.nm, "most": i.most.nm, "margin": i.margin.nm,
             "verdict": i.verdict.value, "derived": i.derived, "source": source}
            for i, source in zip(verdict.items, (item["source"] for item in verdict.to_dict()["items"]), strict=True)
        ],
        "missing": list(verdict.missing),
        "contradictions": [
            {"reading": c.reading, "read": c.read.nm, "othersSay": c.others_say.nm, "offBy": c.off_by.nm,
             "oneOf": list(c.one_of)}
            for c in verdict.contradictions
        ],
        "unreadable": {},
    }  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_server_judges_as_the_table_says(case: dict[str, Any]) -> None:
    assert case["source"] in TABLE["sources"]
    verdict = on_server(case)
    assert verdict.verdict == case["verdict"]
    assert [item.name for item in verdict.failed] == case["failed"]
    assert list(verdict.missing) == case["missing"]
    assert bool(verdict.contradictions) == case.get("contradiction", False)
    derived = {item.name: item.value.nm for item in verdict.items if item.derived}
    assert derived.items() >= case.get("derived", {}).items()


@pytest.mark.browser
def test_phone_judges_as_the_table_says(modules: Any) -> None:
    told = modules.evaluate(JUDGE, [as_phone_takes_it(case) for case in CASES])
    for case, verdict in zip(CASES, told, strict=True):
        assert verdict["verdict"] == case["verdict"], case["name"]
        assert [item["name"] for item in verdict["items"] if item["verdict"] == "fail"] == case["failed"], case["name"]
        assert verdict["missing"] == case["missing"], case["name"]
        assert bool(verdict["contradictions"]) == case.get("contradiction", False), case["name"]
        derived = {item["name"]: item["value"] for item in verdict["items"] if item["derived"]}
        assert derived.items() >= case.get("derived", {}).items(), case["name"]


inch_texts = st.builds(
    lambda sign, whole, over, under: f"{sign}{whole} {over}/{under}",
    st.sampled_from(["", "-"]),
    st.integers(0, 2),
    st.integers(0, 31),
    st.just(32),
)
deviations = st.one_of(
    st.sampled_from(["0", "1/16", "-1/16", "1/32", "-1/32", "5/64", "1/8", "-0.0625", "1.5 mm"]), inch_texts
)
sizes = st.builds(lambda over: f"{35 + over // 32} {over % 32}/32", st.integers(0, 64))
diagonals = st.builds(lambda over: f"{91 + over // 32} {over % 32}/32", st.integers(0, 31))
readings = st.fixed_dictionaries(
    {},
    optional={
        name: diagonals if name.startswith("diagonal") else sizes if measure.kind == "size" else deviations
        for name, measure in MEASURES.items()
    },
)


@pytest.mark.browser
def test_any_readings_come_to_the_same_on_the_phone(modules: Any) -> None:
    gathered: list[dict[str, Any]] = []

    @settings(max_examples=600, database=None, deadline=None, derandomize=True)
    @given(readings, st.sampled_from([None, ["twist"], ["width_head", "squareness"]]))
    def gather(texts: dict[str, str], required: list[str] | None) -> None:
        gathered.append({"readings": texts, "opening": TABLE["opening"], "profile": None, "required": required})

    gather()
    assert sum(bool(on_server(case).contradictions) for case in gathered) > 50
    told = modules.evaluate(JUDGE, [as_phone_takes_it(case) for case in gathered])
    for case, verdict in zip(gathered, told, strict=True):
        assert verdict == told_alike(on_server(case)), case


LENGTH_TEXTS = [
    "36 1/16", "36-1/16", "36.0625", "3'-0 1/16\"", "3' 0 1/16\"", "3′-0 1⁄16″", "3ft 1/2in", "3 ft. 6 inches", "3'",
    "36\"", "917 mm", "91.7cm", "0.917 m", "½", "36½", "36 ½\"", "-½", "- 1/32", "+1/16", "−1/16", ".5", "5.", "0",
    "-0", "1/64", "1''", "1'' ", "3''", "0.1", "0.0000001", "0.00000001968503937", "1000 m", "39370.0787401574",
    "", " ", "x", "1/0", "1/3", "3'-0 13\"", "3'-13", "3.5'-1\"", "3'-", "1 5/4", "5/4", "36 1/16 mm", "1.5 1/2",
    "1001 m", "9" * 41, "nan", "inf", "1e3", "1,5", "--1", "3'-0\" 1/16", "١", "1 / 2", "12'11\"", "12'12\"", "ft",
    "'", "1 mm 2",
]  # fmt: skip
PARSE = """async ([texts, unit]) => {
  const { parseLength, formatLength } = await import("/static/field/lengths.js");
  return texts.map((text) => {
    try {
      const nm = parseLength(text, unit);
      const feet = formatLength(nm, "imperial", { denominator: 64, feet: true });
      return [nm, formatLength(nm, "imperial"), feet, formatLength(nm, "metric")];
    } catch (error) {
      return error.code ? null : String(error);
    }
  });
}"""


def on_tape(text: str, unit: Any) -> list[Any] | None:
    try:
        length = parse_length(text, unit=unit)
    except LengthError:
        return None
    feet = format_length(length, units="imperial", denominator=64, feet=True)
    return [length.nm, format_length(length, units="imperial"), feet, format_length(length, units="metric")]


@pytest.mark.browser
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_lengths_are_read_and_written_alike(modules: Any, unit: str) -> None:
    told = modules.evaluate(PARSE, [LENGTH_TEXTS, unit])
    assert dict(zip(LENGTH_TEXTS, told, strict=True)) == {text: on_tape(text, unit) for text in LENGTH_TEXTS}


@pytest.mark.browser
def test_any_length_is_read_alike(modules: Any) -> None:
    gathered: list[str] = []
    near = st.text("0123456789 /-'\".½mcinft", max_size=12)

    @settings(max_examples=1500, database=None, deadline=None, derandomize=True)
    @given(near)
    def gather(text: str) -> None:
        gathered.append(text)

    gather()
    assert sum(on_tape(text, "in") is not None for text in gathered) > 50
    told = modules.evaluate(PARSE, [gathered, "in"])
    assert told == [on_tape(text, "in") for text in gathered]
