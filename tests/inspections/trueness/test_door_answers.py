"""Calculations about the door: its hand, its rating, its access and how well it can hang, as they are answered."""

from typing import Any

import pytest

from inspections.trueness.access_answers import accessible
from inspections.trueness.answers import door_fit
from inspections.trueness.door_answers import handing, hang, rating
from inspections.trueness.errors import ReadingError

OPENING = {"width": "3'-0\"", "height": "7'-0\""}


@pytest.mark.parametrize(
    ("hinges", "swings", "hand"),
    [("left", "away", "LH"), ("right", "away", "RH"), ("left", "toward_you", "LHR"), ("right", "toward_you", "RHR")],
)
def test_hand_seen_from_the_outside(hinges: str, swings: str, hand: str) -> None:
    """The handing chart of the trade (secondary): the hinges' side names it, and toward you makes it reverse."""
    assert handing({"seen_from": "outside", "hinges": hinges, "swings": swings})["hands"] == [hand]


def test_from_the_pull_side_two_hands_are_possible_and_each_is_told_from_the_outside() -> None:
    """Derived from the same chart: knuckles show where the leaf comes from; it alone can't tell which side is out."""
    assert handing({"seen_from": "pull", "hinges": "left"})["hands"] == ["RH", "LHR"]
    assert handing({"seen_from": "pull", "hinges": "right"})["hands"] == ["LH", "RHR"]


@pytest.mark.parametrize(
    ("wall", "use", "door"),
    [
        (180, "other_barrier", 180), (120, "shaft_or_exit", 90), (60, "shaft_or_exit", 60), (60, "other_barrier", 45),
        (60, "corridor_or_smoke", 20),
    ],
)  # fmt: skip
def test_door_that_a_rated_wall_needs(wall: int, use: str, door: int) -> None:
    """IBC table 716.1(2): 2 h and over as secondary pages print it, the 1 h walls from memory."""
    assert rating({"wall_minutes": wall, "use": use})["door_minutes"] == door


def test_three_hour_frame_in_studs_wants_its_own_listing() -> None:
    """SDI 118 (mirror): frames in stud walls to 90 minutes, over that by specific listing."""
    assert rating({"wall_minutes": 180, "wall": "steel_stud"})["needs_specific_listing"] is True
    assert rating({"wall_minutes": 120, "wall": "steel_stud"})["needs_specific_listing"] is False
    assert rating({"wall_minutes": 180, "wall": "masonry"})["needs_specific_listing"] is False


def judged(**told: Any) -> dict[str, bool]:
    return {item["name"]: item["passes"] for item in accessible(told)["items"]}


def test_access_of_a_door_by_what_was_measured() -> None:
    """ADA Standards 2010, 303 and 404: 32 in clear; 1/2 in threshold, 1/4 in of it upright; 34 to 48 in; 5 lbf; 5 s."""
    assert judged(clear_width="32") == {"clear_width": True}
    assert judged(clear_width="31 15/16") == {"clear_width": False}
    assert judged(clear_width="34", depth="30") == {"clear_width": False}, "36 in where it is over 24 in deep"
    assert judged(threshold={"height": "1/2", "upright": "1/4"}) == {"threshold": True, "threshold_upright": True}
    assert judged(threshold={"height": "3/8"}) == {"threshold": True, "threshold_upright": False}
    bevelled = {"height": "3/4", "upright": "1/4", "altered": True}
    assert judged(threshold=bevelled) == {"threshold": True, "threshold_upright": True}
    assert judged(hardware="49", force=6, closing=4) == {"hardware": False, "force": False, "closing": False}
    assert judged(hardware="48", force=5, closing=5) == {"hardware": True, "force": True, "closing": True}
    assert judged(force=15, fire_door=True) == {"force": True}, "the authority's least, no figure"


def test_floor_to_maneuver_on_and_both_ways_to_have_enough_of_it() -> None:
    """ADA Standards 2010, table 404.2.4.1: pull side from the hinge side 60 by 36, or 54 by 42 in."""
    floor = {"approach": "hinge", "side": "pull", "depth": "54", "beyond": "42"}
    (item,) = accessible({"floor": floor})["items"]
    assert item["passes"] is True
    assert [(each["depth"]["in"], each["beyond"]["in"]) for each in item["least"]] == [(60, 36), (54, 42)]
    assert judged(floor=floor | {"beyond": "41"}) == {"floor": False}
    front = {"approach": "front", "side": "push", "depth": "48", "beyond": "0"}
    assert judged(floor=front) == {"floor": True}
    assert judged(floor=front | {"closer": True}) == {"floor": False}, "12 in beside the latch with closer and latch"


def test_one_fault_fails_the_whole_and_what_is_not_told_is_not_judged() -> None:
    assert accessible({"force": 5})["verdict"] == "pass"
    assert accessible({"force": 5, "closing": 1})["verdict"] == "fail"


def test_shims_even_out_a_strike_jamb_that_leans() -> None:
    """Derived: 1/4 in between head and floor at the strike is shared by both edges, so 1/16 in off at each end."""
    asked = {"opening": OPENING, "readings": {"width_head": "36 1/8", "width_mid": "36", "width_floor": "35 7/8"}}
    found = hang(asked)
    assert found["worst_off"]["in"] == pytest.approx(1 / 16, abs=1 / 500)
    assert found["verdict"] == "free"
    assert door_fit(asked)["verdict"] == "binds", "as it hangs without shims"


@pytest.mark.parametrize(
    ("ask", "told", "field"),
    [
        (handing, {"seen_from": "roof", "hinges": "left"}, "seen_from"),
        (handing, {"seen_from": "outside", "hinges": "left"}, "swings"),
        (rating, {"wall_minutes": 90}, "wall_minutes"),
        (rating, {"wall_minutes": True}, "wall_minutes"),
        (rating, {"wall_minutes": 60, "use": "church"}, "use"),
        (hang, {"opening": OPENING | {"leaves": 2}, "readings": {}}, "opening.leaves"),
        (accessible, {}, "request"),
        (accessible, {"threshold": "1/2"}, "threshold"),
        (accessible, {"threshold": {"height": "1/2", "altered": "yes"}}, "threshold.altered"),
        (accessible, {"threshold": {"upright": "1/2"}}, "threshold.height"),
        (accessible, {"force": "5"}, "force"),
        (accessible, {"closing": -1}, "closing"),
        (accessible, {"floor": {"approach": "above", "side": "pull"}}, "floor.approach"),
    ],
)
def test_what_can_not_be_used_names_its_field(ask: Any, told: dict[str, Any], field: str) -> None:
    with pytest.raises(ReadingError) as refused:
        ask(told)
    assert refused.value.field == field
    assert refused.value.expected
