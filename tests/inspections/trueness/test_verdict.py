"""The tolerance verdict.

Limits checked here: squareness, alignment, twist and plumb 1/16 in, public-agency project specification 08 11 13,
part 3 (read); width +1/16 -1/32 in, HMMA 841/861 and SDI 117 (memory).
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.trueness.errors import ReadingError
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE, USUAL_REQUIRED, ToleranceProfile
from inspections.trueness.verdict import Outcome, judge
from sitetrack.kit.lengths import INCH, format_length, from_inches

OPENING = NominalOpening(INCH * 36, INCH * 84)
TRUE = dict.fromkeys(USUAL_REQUIRED, "0")


def outcome(**changes: str) -> Outcome:
    return judge(TRUE | changes, opening=OPENING, profile=DEFAULT_PROFILE).verdict


def test_true_frame_passes() -> None:
    assert outcome() is Outcome.PASS


@pytest.mark.parametrize("name", USUAL_REQUIRED)
@pytest.mark.parametrize("sign", ["", "-"])
def test_exactly_at_the_limit_passes_and_a_64th_over_fails(name: str, sign: str) -> None:
    face = {"hinge_plumb_face": "strike_plumb_face", "strike_plumb_face": "hinge_plumb_face"}
    both = {face[name]: f"{sign}1/16"} if name in face else {}
    assert outcome(**{name: f"{sign}1/16"}, **both) is Outcome.PASS
    assert outcome(**{name: f"{sign}5/64"}, **both) is Outcome.FAIL


@pytest.mark.parametrize("name", USUAL_REQUIRED)
def test_missing_required_reading_is_incomplete_never_a_pass(name: str) -> None:
    left = {key: value for key, value in TRUE.items() if key != name}
    for absent in ({}, {name: ""}, {name: None}):
        verdict = judge(left | absent, opening=OPENING, profile=DEFAULT_PROFILE)
        assert verdict.verdict is Outcome.INCOMPLETE
        assert verdict.missing == (name,)


def test_missing_reading_does_not_hide_a_failure() -> None:
    verdict = judge({"twist": "1/8"}, opening=OPENING, profile=DEFAULT_PROFILE)
    assert verdict.verdict is Outcome.FAIL
    assert [item.name for item in verdict.failed] == ["twist"]


def test_no_readings_at_all_is_incomplete_even_when_none_are_required() -> None:
    assert judge({}, opening=OPENING, profile=DEFAULT_PROFILE, required=()).verdict is Outcome.INCOMPLETE


def test_opening_of_unknown_size_is_never_passed() -> None:
    verdict = judge(TRUE, opening=None, profile=DEFAULT_PROFILE)
    assert verdict.verdict is Outcome.INCOMPLETE
    assert verdict.missing == ("opening.width", "opening.height")


def test_stage_may_ask_for_its_own_readings() -> None:
    assert judge({"twist": "0"}, opening=OPENING, profile=DEFAULT_PROFILE, required=("twist",)).verdict is Outcome.PASS
    asked = judge(TRUE, opening=OPENING, profile=DEFAULT_PROFILE, required=("width_head", "floor_rise"))
    assert asked.missing == ("width_head", "floor_rise")


@pytest.mark.parametrize(
    ("width", "expected"),
    [
        ("36 1/16", Outcome.PASS),
        ("36 5/64", Outcome.FAIL),
        ("35 31/32", Outcome.PASS),
        ("35 61/64", Outcome.FAIL),
        ("37", Outcome.FAIL),
    ],
)
def test_width_read_is_judged_over_and_under(width: str, expected: Outcome) -> None:
    readings = {"width_head": width, "width_mid": width, "width_floor": width}
    assert outcome(**readings) is expected


def test_margin_is_the_room_left_and_negative_when_out() -> None:
    verdict = judge(TRUE | {"alignment": "-1/32", "squareness": "3/32"}, opening=OPENING, profile=DEFAULT_PROFILE)
    margins = {item.name: item.margin.inches for item in verdict.items}
    assert margins["alignment"] == Fraction(1, 32)
    assert margins["squareness"] == Fraction(-1, 32)
    assert margins["twist"] == Fraction(1, 16)


def test_every_item_names_the_source_of_its_limit() -> None:
    verdict = judge(TRUE | {"width_head": "36"}, opening=OPENING, profile=DEFAULT_PROFILE).to_dict()
    sources = {item["name"]: item["source"] for item in verdict["items"]}
    assert sources["twist"] == {
        "name": "public-agency project specification 08 11 13",
        "edition": "part 3",
        "mark": "read",
    }
    assert sources["width_head"]["mark"] == "memory"


def test_squareness_and_twist_are_worked_out_where_they_are_not_read() -> None:
    readings = {"head_level": "0", "hinge_plumb_side": "1/16", "hinge_plumb_face": "-1/16", "strike_plumb_face": "1/16"}
    verdict = judge(readings, opening=OPENING, profile=DEFAULT_PROFILE)
    derived = {item.name: item for item in verdict.items if item.derived}
    # 36/84 of 1/16 in, and 1/16 + 1/16 in: arithmetic from the definitions of lean and twist.
    assert derived["squareness"].value.inches == pytest.approx(Fraction(36, 84) / 16, abs=1e-7)
    assert derived["twist"].value.inches == Fraction(1, 8)
    assert verdict.verdict is Outcome.FAIL


def test_site_limit_replaces_the_default_and_says_so() -> None:
    profile = ToleranceProfile.from_dict({"twist": "1/8"})
    verdict = judge(TRUE | {"twist": "1/8"}, opening=OPENING, profile=profile)
    assert verdict.verdict is Outcome.PASS
    assert next(item for item in verdict.items if item.name == "twist").high.mark == "site"


def test_metric_site_reads_bare_numbers_as_millimetres() -> None:
    profile = replace(DEFAULT_PROFILE, units="metric")
    assert judge(TRUE | {"twist": "1.5"}, opening=OPENING, profile=profile).verdict is Outcome.PASS
    assert judge(TRUE | {"twist": "1.7"}, opening=OPENING, profile=profile).verdict is Outcome.FAIL


@pytest.mark.parametrize("bad", ["nan", "1/0", "x", "3'-0 13", "1/16 mm in", "9" * 10_000_000, [1], {"a": 1}, "25 in"])
def test_reading_that_is_no_length_names_its_field(bad: object) -> None:
    with pytest.raises(ReadingError) as caught:
        judge(TRUE | {"twist": bad}, opening=OPENING, profile=DEFAULT_PROFILE)
    assert caught.value.field == "readings.twist"
    assert caught.value.expected
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("bad", ["0", "-36", "-1/16"])
def test_width_of_nothing_is_refused(bad: str) -> None:
    with pytest.raises(ReadingError) as caught:
        judge(TRUE | {"width_head": bad}, opening=OPENING, profile=DEFAULT_PROFILE)
    assert caught.value.field == "readings.width_head"
    assert caught.value.code == "length-not-positive"


def test_reading_this_release_does_not_know_is_listed_and_changes_nothing() -> None:
    verdict = judge(TRUE | {"bow_of_head": "1/4"}, opening=OPENING, profile=DEFAULT_PROFILE)
    assert verdict.verdict is Outcome.PASS
    assert verdict.unknown == ("bow_of_head",)


def test_readings_that_contradict_each_other_are_never_a_pass() -> None:
    widths = {"width_head": "36 1/16", "width_floor": "36 1/16", "head_level": "1/4"}
    verdict = judge(TRUE | widths, opening=OPENING, profile=DEFAULT_PROFILE)
    assert verdict.failed == ()
    assert verdict.missing == ()
    assert verdict.contradictions
    assert verdict.suspect in {"head_level", "squareness"}
    assert verdict.verdict is Outcome.INCOMPLETE


small = st.integers(min_value=-12, max_value=12).map(lambda parts: from_inches(Fraction(parts, 64)))


@given(st.dictionaries(st.sampled_from(USUAL_REQUIRED), small), st.sampled_from(USUAL_REQUIRED), small)
def test_adding_a_reading_passes_only_what_is_complete_and_within_limits(
    readings: dict[str, object], name: str, value: object
) -> None:
    def written(lengths: dict[str, object]) -> dict[str, str]:
        return {key: format_length(each, units="imperial", denominator=64) for key, each in lengths.items()}  # type: ignore[arg-type]

    more = readings | {name: value}
    verdict = judge(written(more), opening=OPENING, profile=DEFAULT_PROFILE)
    if verdict.verdict is Outcome.PASS:
        assert set(more) == set(USUAL_REQUIRED)
        assert all(abs(each).inches <= Fraction(1, 16) for each in more.values())  # type: ignore[arg-type]
