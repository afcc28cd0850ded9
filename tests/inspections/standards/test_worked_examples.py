"""Forty-two worked examples of the trade, each named with the publication its expected value comes from.

Marks as in inspections.standards.limits: where a source is a copy, an article or memory, the heading says so.
"""

import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from inspections.standards.anchors import ANCHOR_RULE_SETS, AnchorTable, Wall
from inspections.standards.fire import WallUse
from inspections.standards.rough_openings import FrameKind
from inspections.standards.walls import RABBET
from inspections.trueness.access import (
    clear_width_passes,
    closing_time_passes,
    hardware_height_passes,
    maneuvering_passes,
    opening_force_passes,
    threshold_passes,
)
from inspections.trueness.anchors import check_heights, count_by, plan_anchors, rule_sets_for
from inspections.trueness.best_hang import best_hang
from inspections.trueness.clear_width import clear_width
from inspections.trueness.door_fit import Fit, Problem, door_fit
from inspections.trueness.fire import door_rating
from inspections.trueness.floor import bottom_limit, floor_clearance, undercut_for
from inspections.trueness.handing import hand_from_outside
from inspections.trueness.hinges import hinge_count, hinge_size
from inspections.trueness.leaf import Leaf, design_leaf
from inspections.trueness.opening import Hand, NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.reconciliation import find_contradictions
from inspections.trueness.rough_opening import rough_openings
from inspections.trueness.verdict import Outcome, judge
from inspections.trueness.wall import ThroatFit, WallTakeoff, take_off_wall, wall_thickness
from inspections.trueness.weights import leaf_skins
from sitetrack.kit.lengths import INCH, ZERO, Length, format_length, parse_length

THREE_BY_SEVEN = NominalOpening(INCH * 36, INCH * 84)


def length(text: str) -> Length:
    return parse_length(text)


def wall(stud: str, *boards: str) -> Length:
    return wall_thickness(length(stud), [length(board) for board in boards])


def throat(thickness: Length, depth: str, each_return: str) -> WallTakeoff:
    return take_off_wall(thickness, jamb_depth=length(depth), each_return=length(each_return))


def outcome(required: str = "", **readings: str) -> Outcome:
    return judge(
        readings, opening=THREE_BY_SEVEN, profile=DEFAULT_PROFILE, required=tuple(required.split()) or tuple(readings)
    ).verdict


RULES = {
    "stud": ANCHOR_RULE_SETS["project_spec"].walls[Wall.STEEL_STUD],
    "ufgs": ANCHOR_RULE_SETS["ufgs"].walls[Wall.STEEL_STUD],
    "sdi": ANCHOR_RULE_SETS["sdi"].walls[Wall.STEEL_STUD],
    "hmma_masonry": ANCHOR_RULE_SETS["hmma"].walls[Wall.MASONRY],
    "spec_masonry": ANCHOR_RULE_SETS["project_spec"].walls[Wall.MASONRY],
    "bolts": ANCHOR_RULE_SETS["project_spec"].walls[Wall.EXISTING],
}


@pytest.mark.parametrize(
    ("height", "counts", "hinges"),
    [
        (60, (3, 3, 4, 2, 2, 3), 2),
        (61, (4, 3, 4, 3, 3, 3), 3),
        (80, (4, 3, 4, 3, 3, 4), 3),
        (84, (4, 3, 4, 3, 3, 4), 3),
        (90, (4, 3, 4, 3, 3, 4), 3),
        (91, (5, 4, 5, 4, 4, 5), 4),
        (96, (5, 4, 5, 4, 4, 5), 4),
        (97, (6, 4, 6, 5, 4, 5), 4),
        (120, (6, 4, 6, 5, 4, 6), 4),
        (121, (7, 5, 7, 6, 5, 6), 5),
        (144, (7, 5, 7, 6, 5, 7), 5),
    ],
)
def test_we_1_anchors_and_hinges_by_height(height: int, counts: tuple[int, ...], hinges: int) -> None:
    """Public-agency project specification 08 11 13, UFGS 08110, guide specification (read); SDI A250.8, HMMA 861,
    masonry of the master text (memory); hinges NFPA 80, 6.4 (secondary). Columns in the order of RULES."""
    assert tuple(count_by(rule, INCH * height) for rule in RULES.values()) == counts
    assert hinge_count(INCH * height) == hinges
    assert plan_anchors(height=INCH * height, width=INCH * 36, wall=Wall.STEEL_STUD).base == 2


def test_we_2_usual_wall_is_4_7_8() -> None:
    """C645 and C1396 sizes, arithmetic."""
    thickness = wall("3 5/8", "5/8", "5/8")
    assert thickness == length("4 7/8")
    assert format_length(thickness, units="metric") == "123.8 mm"


def test_we_3_usual_frame_takes_the_usual_wall_with_nothing_to_spare() -> None:
    """Trade page on throat and jamb depth (secondary)."""
    taken = throat(wall("3 5/8", "5/8", "5/8"), "5 3/4", "7/16")
    assert (taken.throat, taken.slack, taken.verdict) == (length("4 7/8"), ZERO, ThroatFit.TIGHT)


def test_we_4_the_eighth_wanted_for_the_wall_is_missing() -> None:
    """HMMA 861 (memory)."""
    usual = wall("3 5/8", "5/8", "5/8")
    short = throat(usual, "5 3/4", "7/16")
    assert short.wanted_jamb_depth - length("5 3/4") == length("1/8")
    assert throat(usual, "5 7/8", "7/16").verdict is ThroatFit.FITS
    assert throat(usual, "6", "1/2").verdict is ThroatFit.FITS


def test_we_5_half_inch_board_leaves_a_quarter() -> None:
    """Arithmetic."""
    taken = throat(wall("3 5/8", "1/2", "1/2"), "5 3/4", "7/16")
    assert (taken.thickness, taken.slack) == (length("4 5/8"), length("1/4"))


def test_we_6_two_layers_each_side_do_not_fit() -> None:
    """Arithmetic."""
    taken = throat(wall("3 5/8", "5/8", "5/8", "5/8", "5/8"), "5 3/4", "7/16")
    assert (taken.thickness, taken.slack) == (length("6 1/8"), length("-1 1/4"))
    assert taken.verdict is ThroatFit.TOO_NARROW
    assert taken.least_jamb_depth == length("7")


def test_we_7_six_inch_stud() -> None:
    """Arithmetic."""
    thickness = wall("6", "5/8", "5/8")
    assert thickness == length("7 1/4")
    assert throat(thickness, "8 1/8", "7/16").slack == throat(thickness, "8 1/4", "1/2").slack == ZERO


def test_we_8_four_inch_stud_is_too_thick_for_the_usual_frame() -> None:
    """VA NCA design guide, page 5-5 (read)."""
    taken = throat(wall("4", "5/8", "5/8"), "5 3/4", "7/16")
    assert (taken.thickness, taken.slack) == (length("5 1/4"), length("-3/8"))


def test_we_9_soffit_of_the_usual_double_rabbet() -> None:
    """SDI A250.8 (memory)."""
    assert length("5 3/4") - RABBET.length * 2 == length("1 7/8")


def test_we_10_leaf_for_three_by_seven() -> None:
    """SDI A250.8 design clearances."""
    leaf = design_leaf(THREE_BY_SEVEN, DEFAULT_PROFILE)
    assert (leaf.width, leaf.height) == (length("35 3/4"), length("83 1/8"))


@pytest.mark.parametrize(
    ("width", "each_side", "verdict"),
    [
        pytest.param("36 1/16", "5/32", Outcome.PASS, id="we-11"),
        pytest.param("36 1/8", "3/16", Outcome.PASS, id="we-12"),
        pytest.param("36 3/16", "7/32", Outcome.FAIL, id="we-13"),
    ],
)
def test_we_11_to_13_side_gaps_of_a_centred_leaf(width: str, each_side: str, verdict: Outcome) -> None:
    """NFPA 80, 6.3.1.7, printed with TIA log 1039 (mirror): 1/8 in give or take 1/16 in."""
    readings = read_readings(dict.fromkeys(("width_head", "width_mid", "width_floor"), width))
    leaf = design_leaf(THREE_BY_SEVEN, DEFAULT_PROFILE)
    hung = best_hang(readings, opening=THREE_BY_SEVEN, leaf=leaf, profile=DEFAULT_PROFILE)
    assert hung is not None
    for place in ("hinge_head", "hinge_floor", "strike_head", "strike_mid", "strike_floor"):
        assert hung.gaps[place] == length(each_side)
        shown = format_length(hung.gaps[place], units="imperial")
        assert outcome(gap_hinge=shown, gap_strike_mid=shown) is verdict


def test_we_14_lock_side_fails_though_the_total_is_right() -> None:
    """NFPA 80, 6.3.1.7 (mirror)."""
    verdict = judge(
        {"gap_hinge": "1/16", "gap_strike_mid": "1/4"}, opening=THREE_BY_SEVEN, profile=DEFAULT_PROFILE, required=()
    )
    assert [item.name for item in verdict.failed] == ["gap_strike_mid"]


def test_we_15_wood_fire_door_has_an_eighth_at_most() -> None:
    """NFPA 80 (mirror)."""
    wood = replace(DEFAULT_PROFILE, gap_rule="nfpa80_wood")
    for gap, expected in (("5/32", Outcome.FAIL), ("1/8", Outcome.PASS)):
        assert judge({"gap_hinge": gap}, opening=THREE_BY_SEVEN, profile=wood, required=()).verdict is expected


@pytest.mark.parametrize(
    ("foot_gap", "covering", "clearance", "verdict"),
    [
        pytest.param("0", "1/8", "5/8", Outcome.PASS, id="we-16"),
        pytest.param("3/8", "0", "1 1/8", Outcome.FAIL, id="we-17"),
    ],
)
def test_we_16_and_17_floor_clearance(foot_gap: str, covering: str, clearance: str, verdict: Outcome) -> None:
    """NFPA 80 (mirror), HMMA note on undercut and floor clearance (secondary)."""
    left = floor_clearance(length("3/4"), foot_gap=length(foot_gap), covering=length(covering))
    assert left == length(clearance)
    assert outcome(gap_floor=clearance) is verdict
    opening = replace(THREE_BY_SEVEN, covering=length(covering))
    leaf = design_leaf(opening, DEFAULT_PROFILE)
    fit = door_fit(read_readings({"foot_gap_hinge": foot_gap}), opening=opening, leaf=leaf, profile=DEFAULT_PROFILE)
    assert fit.floor_at_rest == length(clearance)
    assert any(trouble.problem is Problem.WIDE for trouble in fit.troubles) is (verdict is Outcome.FAIL)


def test_we_18_undercut_for_carpet_and_threshold() -> None:
    """HMMA formula (secondary)."""
    assert undercut_for(length("3/8"), covering=length("1/4"), threshold=length("1/2")) == length("1 1/8")


def test_we_19_raised_door_bottom_has_its_own_limit() -> None:
    """NFPA 80 (mirror): 3/8 in where the door's bottom is more than 38 in above the floor."""
    raised = bottom_limit("nfpa80_steel", door_bottom_above_floor=INCH * 42)
    assert raised.length == length("3/8") < length("1/2")
    assert bottom_limit("nfpa80_steel", door_bottom_above_floor=INCH * 38).length == length("3/4")


@pytest.mark.parametrize(("reading", "verdict"), [("1/16", Outcome.PASS), ("5/64", Outcome.FAIL)])
def test_we_20_squareness_at_its_limit(reading: str, verdict: Outcome) -> None:
    """Public-agency project specification 08 11 13, part 3 (read)."""
    assert outcome(squareness=reading) is verdict


@pytest.mark.parametrize(("reading", "verdict"), [("1/16", Outcome.PASS), ("3/32", Outcome.FAIL)])
def test_we_21_plumb_over_the_whole_height(reading: str, verdict: Outcome) -> None:
    """Public-agency project specification 08 11 13, part 3 (read); the angle is arithmetic."""
    assert outcome(hinge_plumb_side=reading) is verdict
    assert math.degrees(math.atan2(1 / 16, 84)) == pytest.approx(0.043, abs=0.0005)


def test_we_22_diagonals_an_eighth_apart_are_just_over_a_sixteenth_out_of_square() -> None:
    """Derived: difference = 2 H s / sqrt(W^2 + H^2); a plumb frame whose head rises s at the strike."""
    diagonal = math.hypot(36, 84)
    squareness = 0.125 * diagonal / (2 * 84)
    assert squareness == pytest.approx(0.068, abs=0.0005)
    texts = {
        "diagonal_hinge_foot": f"{diagonal + 0.0625:.7f}",
        "diagonal_strike_foot": f"{diagonal - 0.0625:.7f}",
        "width_floor": "36",
        "hinge_plumb_side": "0",
        "strike_plumb_side": "0",
    }
    agreed = read_readings(texts | {"squareness": f"{squareness:.7f}"})
    tight = Length(50_000)
    assert find_contradictions(agreed.lengths, THREE_BY_SEVEN, tight) == ()
    off = read_readings(texts | {"squareness": "0"})
    assert find_contradictions(off.lengths, THREE_BY_SEVEN, tight) != ()


@pytest.mark.parametrize(
    ("kind", "rule", "width", "height"),
    [
        pytest.param(FrameKind.BUTTED, "sdi_127f", "40 3/8", "86 3/16", id="we-23 SDI 127F (mirror)"),
        pytest.param(FrameKind.BUTTED, "ufgs_quarter", "40 1/2", "86 1/4", id="we-24 UFGS 11193 (read)"),
        pytest.param(FrameKind.SLIP_ON, "slip_on", "38", "85", id="we-25 framing article (secondary)"),
    ],
)
def test_we_23_to_25_rough_openings(kind: FrameKind, rule: str, width: str, height: str) -> None:
    """As named in each case."""
    found = {each.rule.code: each for each in rough_openings(kind, width=INCH * 36, height=INCH * 84)}
    assert (found[rule].width, found[rule].height) == (length(width), length(height))


@pytest.mark.parametrize(
    ("opening", "swing_clear", "clear", "passes"),
    [
        pytest.param("36", False, "32 13/16", True, id="we-26"),
        pytest.param("34", False, "30 13/16", False, id="we-27"),
        pytest.param("34", True, "33 3/8", True, id="we-27 swing clear"),
    ],
)
def test_we_26_and_27_clear_width(opening: str, swing_clear: bool, clear: str, passes: bool) -> None:
    """ADA 404.2.3 (mirror) and the geometry of a butt hinge (derived)."""
    found = clear_width(length(opening), swing_clear=swing_clear)
    assert found == length(clear)
    assert clear_width_passes(found) is passes


@pytest.mark.parametrize(("height", "passes"), [("1/2", True), ("9/16", False)])
def test_we_28_threshold(height: str, passes: bool) -> None:
    """ADA 404.2.5 (mirror)."""
    assert threshold_passes(length(height), upright=length("1/4")) is passes


@pytest.mark.parametrize(("height", "passes"), [("38", True), ("49", False), ("34", True), ("48", True), ("33", False)])
def test_we_29_hardware_height(height: str, passes: bool) -> None:
    """ADA 404.2.7 (mirror): 34 to 48 in."""
    assert hardware_height_passes(length(height)) is passes


@pytest.mark.parametrize(("force", "passes"), [(5.0, True), (5.5, False)])
def test_we_30_opening_force(force: float, passes: bool) -> None:
    """ADA 404.2.9 (mirror), interior door without a rating."""
    assert opening_force_passes(force) is passes


@pytest.mark.parametrize(("seconds", "passes"), [(4.8, False), (5.0, True)])
def test_we_31_closer(seconds: float, passes: bool) -> None:
    """ADA 404.2.8.1 (mirror)."""
    assert closing_time_passes(seconds) is passes


@pytest.mark.parametrize(("width", "height"), [(36, "4 1/2"), (42, "5"), (49, "6")])
def test_we_32_hinge_size(width: int, height: str) -> None:
    """Hinge size guide of the trade (secondary), 1-3/4 in leaf."""
    size = hinge_size(INCH * width)
    assert size is not None
    assert size.height.length == length(height)


def test_we_33_bolts_of_a_seven_foot_jamb() -> None:
    """Public-agency guide specification 08 11 13 (read): 6 in from the ends, not over 26 in between."""
    plan = plan_anchors(height=INCH * 84, width=INCH * 36, wall=Wall.EXISTING)
    assert plan.per_jamb == 4
    assert plan.heights == tuple(INCH * at for at in (6, 30, 54, 78))
    assert plan.problems == ()


@pytest.mark.parametrize(
    ("heights", "problems"),
    [
        pytest.param((12, 32, 52, 72), (), id="we-34"),
        pytest.param((18, 42, 66), ("too_few",), id="we-35"),
        pytest.param((20, 40, 52, 72), ("end_distance",), id="end"),
        pytest.param((12, 45, 52, 72), ("spacing",), id="spacing"),
    ],
)
def test_we_34_and_35_anchors_in_place(heights: tuple[int, ...], problems: tuple[str, ...]) -> None:
    """Public-agency project specification 08 11 13 (read): ends 18 in, 32 in on centre, 4 at 84 in."""
    placed = [INCH * at for at in heights]
    assert check_heights(placed, height=INCH * 84, rule=RULES["stud"]) == problems
    assert check_heights(placed, height=INCH * 84, rule=RULES["ufgs"]) == ()


@pytest.mark.parametrize(("width", "head"), [("44", 2), ("42", 0), ("42 1/16", 2)])
def test_we_36_head_anchors(width: str, head: int) -> None:
    """Public-agency project specification 08 11 13 (read): over 42 in wide in a metal-stud partition."""
    assert plan_anchors(height=INCH * 84, width=length(width), wall=Wall.STEEL_STUD).head == head
    assert plan_anchors(height=INCH * 84, width=length(width), wall=Wall.MASONRY).head == 0


def test_we_37_leaves_of_a_pair() -> None:
    """SDI A250.8 design clearances: 1/8 in gaps all round for a rated pair, 3/16 in between for another."""
    pair = NominalOpening(INCH * 72, INCH * 84, leaves=2)
    assert design_leaf(replace(pair, rating_minutes=90), DEFAULT_PROFILE).width == length("35 13/16")
    assert design_leaf(pair, DEFAULT_PROFILE).width == length("35 25/32")


@pytest.mark.parametrize(
    ("wall_minutes", "minutes", "needs_listing"),
    [pytest.param(120, 90, False, id="we-38"), pytest.param(240, 180, True, id="we-39")],
)
def test_we_38_and_39_door_for_a_rated_stud_wall(wall_minutes: int, minutes: int, needs_listing: bool) -> None:
    """IBC 2018, table 716.1(2) (secondary); SDI 118 on frames in studs (mirror)."""
    found = door_rating(wall_minutes, use=WallUse.SHAFT_OR_EXIT, wall=Wall.STEEL_STUD)
    assert found is not None
    assert (found.minutes.value, found.needs_specific_listing) == (minutes, needs_listing)


def test_we_40_hinges_left_and_swinging_toward_you_is_lhr() -> None:
    """Handing guide of the trade (secondary)."""
    assert hand_from_outside(hinges_left=True, swings_toward_you=True) is Hand.LHR


@pytest.mark.parametrize(("beyond", "passes"), [("16", False), ("18", True)])
def test_we_41_front_approach_on_the_pull_side(beyond: str, passes: bool) -> None:
    """ADA 404 maneuvering table (mirror)."""
    assert maneuvering_passes("front", "pull", depth=length("60"), beyond=length(beyond)) is passes


def test_we_42_leaf_skins_alone_want_two_people() -> None:
    """Steel at 490 lb per cubic foot (derived); OSHA on the NIOSH figure of 51 lb (read)."""
    skins = leaf_skins(length("35 3/4"), length("83 1/8"), gauge=18)
    assert skins.pounds == pytest.approx(70.8, abs=0.05)
    assert skins.kilograms == pytest.approx(32, abs=0.2)
    assert skins.two_people


def heights_about(steps: list[int]) -> list[Any]:
    return [
        pytest.param(INCH * step + length(off), id=f"{step} {off}") for step in steps for off in ("-1/16", "0", "1/16")
    ]


@pytest.mark.parametrize("height", heights_about([60, 90, 96, 120, 144, 150, 168, 180]))
@pytest.mark.parametrize("wall_kind", list(Wall))
def test_counts_step_only_past_the_break_point(wall_kind: Wall, height: Length) -> None:
    """Each rule set against its own formula, written out from the publication's words in exact fractions."""
    inches = height.inches

    def over(start: int, step: int) -> int:
        return max(0, math.ceil(Fraction(inches - start, step)))

    def stair(*bands: tuple[int, int]) -> int | None:
        return next((count for up_to, count in bands if inches <= up_to), None)

    expected = {
        ("project_spec", Wall.STEEL_STUD): stair((60, 3), (90, 4), (96, 5)) or 5 + over(96, 24),
        ("project_spec", Wall.MASONRY): stair((60, 2), (90, 3), (120, 4)) or 4 + over(120, 24),
        ("project_spec", Wall.EXISTING): over(12, 26) + 1,
        ("sdi", Wall.STEEL_STUD): stair((90, 4), (96, 5)) or 5 + over(96, 24),
        ("sdi", Wall.WOOD_STUD): stair((90, 4), (96, 5)) or 5 + over(96, 24),
        ("sdi", Wall.MASONRY): stair((90, 3), (96, 4)) or 4 + over(96, 24),
        ("sdi", Wall.EXISTING): stair((90, 5), (96, 6)) or 6 + over(96, 24),
        ("hmma", Wall.STEEL_STUD): stair((60, 3), (90, 4), (96, 5)) or 5 + over(96, 24),
        ("hmma", Wall.WOOD_STUD): stair((60, 3), (90, 4), (96, 5)) or 5 + over(96, 24),
        ("hmma", Wall.MASONRY): stair((60, 2), (90, 3), (96, 4)) or 4 + over(96, 24),
        **{("ufgs", each): 3 + over(90, 30) for each in Wall},
    }
    for code, rule in rule_sets_for(wall_kind).items():
        assert count_by(rule, height) == expected[code, wall_kind], code


@pytest.mark.parametrize("height", heights_about([60, 90, 120, 150, 180]))
def test_hinges_step_only_past_the_break_point(height: Length) -> None:
    """NFPA 80, 6.4 (secondary): two up to 60 in and one more for each 30 in or fraction."""
    assert hinge_count(height) == 2 + max(0, math.ceil(Fraction(height.inches - 60, 30)))


@pytest.mark.parametrize(
    ("thickness", "width", "height"),
    [
        ("1 3/8", "32", "3 1/2"),
        ("1 3/8", "32 1/16", "4"),
        ("1 3/8", "36", "4"),
        ("1 3/8", "36 1/16", None),
        ("1 3/4", "35 15/16", "4 1/2"),
        ("1 3/4", "36", "4 1/2"),
        ("1 3/4", "36 1/16", "5"),
        ("1 3/4", "48", "5"),
        ("1 3/4", "48 1/16", "6"),
        ("2 1/4", "42", "5"),
        ("2 1/4", "42 1/16", "6"),
        ("2 1/2", "42", "5"),
        ("2 9/16", "36", None),
    ],
)
def test_hinge_size_steps_only_past_the_break_point(thickness: str, width: str, height: str | None) -> None:
    """Hinge size guide of the trade (secondary)."""
    size = hinge_size(length(width), length(thickness))
    assert (size.height.length if size else None) == (length(height) if height else None)


def test_published_table_wins_and_the_answer_says_who_asks_for_more() -> None:
    """Conflict: 3 per jamb at 84 in by UFGS 08110, 4 by the project specification."""
    plan = plan_anchors(height=INCH * 84, width=INCH * 36, wall=Wall.STEEL_STUD, rule_set="ufgs")
    assert plan.per_jamb == 3
    asking = {other.rule_set for other in plan.other_rule_sets if other.asks_for_more}
    assert asking == {"project_spec", "sdi", "hmma"}


@pytest.mark.parametrize(("height", "least", "advised"), [("60", 3, 4), ("90", 4, 5), ("96", 5, 6), ("84", 4, 4)])
def test_height_on_a_step_gives_the_lower_band_and_advises_the_higher(height: str, least: int, advised: int) -> None:
    """The specification's bands share their edges."""
    plan = plan_anchors(height=length(height), width=INCH * 36, wall=Wall.STEEL_STUD)
    assert (plan.per_jamb, plan.advised) == (least, advised)


def test_tight_gap_binds_and_a_true_frame_is_free() -> None:
    """NFPA 80, 6.3.1.7 (mirror)."""
    leaf = Leaf(length("35 3/4"), length("83 1/8"))

    def fit(width: str) -> Fit:
        readings = read_readings(dict.fromkeys(("width_head", "width_mid", "width_floor"), width))
        return door_fit(readings, opening=THREE_BY_SEVEN, leaf=leaf, profile=DEFAULT_PROFILE).verdict

    assert fit("36") is Fit.FREE
    assert fit("35 15/16") is Fit.FREE
    assert fit("35 29/32") is Fit.BINDS
    assert fit("36 1/4") is Fit.FREE


def test_every_rule_set_keeps_its_own_growth() -> None:
    """The two growth steps, 24 in past 96 and 30 in past 90, are never mixed."""
    growth = {
        (code, rule.growth, rule.steps[-1][0])
        for code in ("project_spec", "ufgs")
        if isinstance(rule := ANCHOR_RULE_SETS[code].walls[Wall.STEEL_STUD], AnchorTable)
    }
    assert growth == {("project_spec", 24, 96), ("ufgs", 30, 90)}


def test_nothing_read_is_not_a_pass() -> None:
    """An empty set of readings."""
    assert judge({}, opening=THREE_BY_SEVEN, profile=DEFAULT_PROFILE).verdict is Outcome.INCOMPLETE
    assert Readings().lengths == {}
