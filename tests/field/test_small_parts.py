"""Parts of the phone that can be held against something outside it."""

import json
import random
import uuid
from typing import Any

import pytest
import rfc8785

from inspections.standards.cautions import Topic
from inspections.standards.cautions_of_stages import topics_of
from inspections.sync.site_records import limits_for_phone
from inspections.trueness.measures import MEASURES
from inspections.trueness.profile import ToleranceProfile
from openings.sequence.facts import Fact
from openings.sequence.fold import fold
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import Kind
from tests.field.fake_site import PLAN

pytestmark = pytest.mark.browser


def test_ids_are_of_version_7_as_rfc_9562_shows(modules: Any) -> None:
    """Appendix A.6 of RFC 9562: its time, rand_a and rand_b give its example."""
    random_bytes = list(bytes.fromhex("0cc318c4dc0c0c07398f"))
    told = modules.evaluate(
        """async ([ms, bytes]) => (await import("/static/field/ids.js")).uuid7(ms, new Uint8Array(bytes))""",
        [0x017F22E279B0, random_bytes],
    )
    assert told.upper() == "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"


def test_ids_made_later_sort_later_and_are_never_the_same(modules: Any) -> None:
    told = modules.evaluate(
        """async () => {
          const { uuid7 } = await import("/static/field/ids.js");
          return Array.from({ length: 500 }, (_, n) => uuid7(1_700_000_000_000 + n));
        }"""
    )
    assert told == sorted(set(told))
    assert all(uuid.UUID(each).version == 7 and uuid.UUID(each).variant == uuid.RFC_4122 for each in told)


@pytest.mark.parametrize(
    "value",
    [
        {"b": 1, "a": [True, None, {"z": "", "é": "ñ", "e": "\u20ac"}], "10": 0, "9": 1},
        {"note": 'quote " stroke \\ tab \t bell \u0007 euro € smile 😀', "n": 333333333.3333333},
        {"\u20ac": 1, "\r": 2, "\ufb33": 3, "1": 4, "\U0001f600": 5, "\u0080": 6, "\u00f6": 7},
    ],
)
def test_canonical_text_is_that_of_rfc_8785(modules: Any, value: Any) -> None:
    """The last is the sorting example of RFC 8785, section 3.2.3; the library is an independent implementation."""
    told = modules.evaluate("""async (value) => (await import("/static/field/canonical.js")).canonical(value)""", value)
    assert told.encode() == rfc8785.dumps(value)
    assert json.loads(told) == value


def test_text_that_no_data_base_holds_is_mended_before_it_is_kept(modules: Any) -> None:
    told = modules.evaluate(
        r"""async () => (await import("/static/field/canonical.js")).wellFormed("a\uD800b\u0000c\uDC00 \uD83D\uDE00")"""
    )
    assert told == "abc 😀"


WALK = """async ([openings, last]) => {
  const { walkingOrder } = await import("/static/field/walking.js");
  return walkingOrder(openings, last).map((opening) => opening.number);
}"""


def test_walk_goes_always_to_the_nearest_next(modules: Any) -> None:
    dice = random.Random(7)
    places = [{"number": str(n), "walk": n, "x": dice.uniform(0, 60), "y": dice.uniform(0, 20)} for n in range(60)]
    told = modules.evaluate(WALK, [places, places[17]])
    assert sorted(told) == sorted(place["number"] for place in places)
    by_number = {place["number"]: place for place in places}

    def apart(one: Any, other: Any) -> float:
        return (one["x"] - other["x"]) ** 2 + (one["y"] - other["y"]) ** 2

    here, left = places[17], set(told)
    for number in told:
        assert apart(here, by_number[number]) == min(apart(here, by_number[each]) for each in left)
        here = by_number[number]
        left.remove(number)


def test_without_positions_the_walk_goes_on_from_the_last_opening(modules: Any) -> None:
    places = [{"number": f"1{n:02}", "walk": n, "x": None, "y": None} for n in range(1, 7)]
    told = modules.evaluate(WALK, [[place for place in places if place["walk"] != 4], places[3]])
    assert told == ["105", "106", "101", "102", "103"]
    assert modules.evaluate(WALK, [[{"number": "A10", "walk": 0}, {"number": "A9", "walk": 0}], None]) == ["A9", "A10"]


BACK_OFF = """async ([failures, chance]) => (await import("/static/field/syncing.js")).backOff(failures, chance)"""


def test_waits_grow_stay_bounded_and_never_come_all_at_once(modules: Any) -> None:
    longest = [modules.evaluate(BACK_OFF, [failures, 1]) for failures in range(12)]
    shortest = [modules.evaluate(BACK_OFF, [failures, 0]) for failures in range(12)]
    assert longest == sorted(longest)
    assert max(longest) == 300_000
    assert all(least == most / 2 for least, most in zip(shortest, longest, strict=True))


def test_retry_after_is_read_in_both_forms(modules: Any) -> None:
    """RFC 9110, section 10.2.3: seconds, or a date."""
    told = modules.evaluate(
        """async () => {
          const { retryAfter } = await import("/static/field/api.js");
          const now = Date.parse("2015-10-21T07:27:00Z");
          const of = (value) => retryAfter(new Response("", value ? { headers: { "Retry-After": value } } : {}), now);
          const dates = ["Wed, 21 Oct 2015 07:28:00 GMT", "Tue, 20 Oct 2015 07:28:00 GMT"];
          return ["120", ...dates, "", "soon"].map(of);
        }"""
    )
    assert told == [120_000, 60_000, 0, None, None]


LAY_OVER = """async ([stages, standing, histories]) => {
  const { standingOf } = await import("/static/field/standing.js");
  return histories.map((items) => {
    const { lines } = standingOf({ standing, held: false }, stages, items);
    const told = (line) => [line.stage.code, [line.state, line.actionable, line.awaitsSignature]];
    return Object.fromEntries(lines.map(told));
  });
}"""
ATTRIBUTES = {"construction": "welded", "electrified": False, "covering_thickness": 0.0}
SHIPPED = read_plan(PLAN)
CHECKS = {stage.code for stage in SHIPPED.stages if stage.kind is Kind.CHECK}


def folded(facts: list[Fact]) -> dict[str, Any]:
    """What the server's fold makes of the same reports."""
    stages = fold(SHIPPED, ATTRIBUTES, facts).to_dict()["stages"]
    return {code: [s["state"], s["actionable"], s["awaits_signature"]] for code, s in stages.items()}


def work_in_order(dice: random.Random, steps: int) -> list[Fact]:
    """A history of one opening, nothing before its turn: work, checks good and bad, holds, signatures."""
    facts: list[Fact] = []
    for n in range(steps):
        state = fold(SHIPPED, ATTRIBUTES, facts)
        given: dict[str, Any] = {
            "corrected": n * 60_000,
            "received": n * 60_000,
            "device": "d",
            "counter": n,
            "company": "c",
        }
        open_hold = next((hold for hold in state.holds if hold.open), None)
        unsigned = next((stage for stage in state.stages.values() if stage.awaits_signature), None)
        if open_hold:
            facts.append(Fact(f"f{n:03}", open_hold.stage, "release", about=open_hold.id, **given))
        elif unsigned:
            facts.append(Fact(f"f{n:03}", unsigned.code, "sign", about=unsigned.reading, role="supervisor", **given))
        elif state.ready:
            code = dice.choice(state.ready)
            is_check = code in CHECKS
            action = dice.choice(["start", "finish", "finish", "finish", "hold", *(["fail"] if is_check else [])])
            verdict = dice.choice(["pass", "pass", "fail", "incomplete"]) if is_check and action == "finish" else None
            verdict = "fail" if action == "fail" else verdict
            facts.append(Fact(f"f{n:03}", code, action, verdict=verdict, **given))
    return facts


def as_queued(fact: Fact) -> dict[str, Any]:
    """The same report as the phone's queue holds it."""
    report = {"stage": fact.stage, "action": fact.action, "about": fact.about}
    return {"id": fact.id, "state": "waiting", "preview": fact.verdict, "madeAt": fact.corrected, "report": report}


def test_what_the_phone_lays_over_is_what_the_fold_will_say(modules: Any) -> None:
    """For work reported in its order; what is out of order only the server, which knows everyone's reports, can say."""
    dice = random.Random(11)
    whole = [work_in_order(dice, 34) for _ in range(60)]
    histories = [facts[:length] for facts in whole for length in range(0, len(facts) + 1, 3)]
    at_first = {
        code: {"state": state, "actionable": actionable, "awaits_signature": awaits}
        for code, (state, actionable, awaits) in folded([]).items()
    }
    told = modules.evaluate(
        LAY_OVER, [PLAN["stages"], at_first, [[as_queued(f) for f in facts] for facts in histories]]
    )
    assert any(line[0] == "done" for line in told[-1].values())
    for facts, lines in zip(histories, told, strict=True):
        assert lines == folded(facts), [(f.stage, f.action, f.verdict) for f in facts]


def test_every_limit_that_judges_a_reading_is_named_with_its_source_on_request(modules: Any) -> None:
    profile = limits_for_phone(ToleranceProfile())
    told = modules.evaluate(
        """async ([names, profile]) => {
          const { limitLines } = await import("/static/field/limit_sources.js");
          const t = Object.assign((key) => key, { has: () => false });
          return limitLines(names, profile, t).map((line) => line.textContent);
        }""",
        [list(MEASURES), profile],
    )
    # What the readings may disagree by judges no reading; the page says which two disagree.
    for name, limit in profile["limits"].items():
        if name != "disagreement":
            source = limit["source"]
            assert any(source["name"] in line and source["mark"] in line for line in told), name
    judged = " ".join(told)
    assert all(f"m_{name}" in judged for name in profile["required"])


# The phone says some things in words of its own, and some only where they are to be done.
TOPIC_OF = {
    "lifting": Topic.LIFTING, "tipping": Topic.BRACING, "shipping_bar": Topic.GRINDING, "pins": Topic.PINS,
    "dust": Topic.DUST, "wiring": Topic.WIRING, "ladder": Topic.LADDERS, "edges": Topic.EDGES,
    "rated": Topic.RATED, "label": Topic.RATED,
}  # fmt: skip
ONLY_ON_PHONES = {"spreaders", "pinch"}
# Hanging from a ladder and sparks of grinding stand inside other lines of the phone.
ONLY_ON_PAPER = {Topic.HOT_WORK, Topic.LADDERS}


@pytest.mark.parametrize("rated", [None, 90, 0])
def test_phone_and_work_order_warn_of_the_same_whatever_a_stage_is_called(modules: Any, rated: int | None) -> None:
    stages = [{**stage, "code": f"our_{stage['code']}"} for stage in PLAN["stages"]]
    told = modules.evaluate(
        """async ([stages, opening]) => {
          const { cautionsFor } = await import("/static/field/cautions.js");
          return stages.map((stage) => cautionsFor(stage, opening));
        }""",
        [stages, {"attributes": {"rating_minutes": rated}}],
    )
    assert any(told)
    for stage, names in zip(stages, told, strict=True):
        on_paper = set(
            topics_of(trade=stage["trade"], is_check=stage.get("kind") == "check", marks=stage.get("marks", ()))
        )
        if rated == 0:
            on_paper.discard(Topic.RATED)
        on_phone = {TOPIC_OF[name] for name in names if name not in ONLY_ON_PHONES}
        assert on_phone - ONLY_ON_PAPER == on_paper - ONLY_ON_PAPER, stage["code"]
