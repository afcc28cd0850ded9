"""Takeoff beyond the worked examples: places rather than counts, hands, pairs and weights."""

import pytest

from inspections.standards.anchors import Wall
from inspections.standards.hinges import LAYOUTS
from inspections.standards.rough_openings import FrameKind
from inspections.trueness.access import clear_width_passes, maneuvering_passes, opening_force_passes, threshold_passes
from inspections.trueness.anchors import plan_anchors, rule_sets_for
from inspections.trueness.clear_width import clear_width_of_pair
from inspections.trueness.floor import FloorVerdict, set_floor
from inspections.trueness.handing import hand_from_outside, possible_hands
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.leaf import design_leaf
from inspections.trueness.opening import FootOn, NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.rough_opening import rough_openings
from inspections.trueness.weights import frame_steel, leaf_skins
from sitetrack.kit.lengths import INCH, ZERO, from_inches, parse_length


@pytest.mark.parametrize("layout", list(LAYOUTS))
@pytest.mark.parametrize("wall", list(Wall))
def test_anchors_keep_every_rule_at_every_height(wall: Wall, layout: str) -> None:
    """Ends and spacing of each rule set, from 3 ft to 20 ft in half inches, for every published hinge layout."""
    for half_inches in range(72, 481):
        height = INCH * half_inches // 2
        hinges = plan_hinges(height=height, leaf_width=INCH * 36, layout=layout).heights
        for code in rule_sets_for(wall):
            plan = plan_anchors(height=height, width=INCH * 36, wall=wall, rule_set=code, hinges=hinges)
            assert plan.problems == ()
            assert len(plan.heights) == plan.per_jamb >= len(hinges) or wall is Wall.EXISTING
            assert list(plan.heights) == sorted(set(plan.heights))
            assert ZERO < plan.heights[0] < plan.heights[-1] < height


def test_one_anchor_stands_above_each_hinge() -> None:
    """Common practice; its twin stands straight across, so one list serves both jambs."""
    for height in (80, 84, 96, 120):
        hinges = plan_hinges(height=INCH * height, leaf_width=INCH * 36).heights
        anchors = plan_anchors(height=INCH * height, width=INCH * 36, wall=Wall.STEEL_STUD).heights
        for hinge in hinges:
            assert any(hinge + from_inches(2.25) < anchor <= hinge + INCH * 9 for anchor in anchors)


def test_hinges_of_the_five_ten_layout() -> None:
    """US 5-10-equal (secondary): 5 in from head to the top hinge, 10 in from floor to the lowest, to their edges."""
    plan = plan_hinges(height=INCH * 84, leaf_width=INCH * 36)
    half = parse_length("2 1/4")
    assert INCH * 84 - (plan.heights[-1] + half) == INCH * 5
    assert plan.heights[0] - half == INCH * 10
    assert plan.heights[1] - plan.heights[0] == plan.heights[2] - plan.heights[1]


@pytest.mark.parametrize("hinges_left", [True, False])
@pytest.mark.parametrize("toward_you", [True, False])
def test_hand_agrees_with_where_the_hinges_are_on_the_pull_side(hinges_left: bool, toward_you: bool) -> None:
    """Walking round the wall swaps left and right; the pull side is the outside only where the leaf comes at you."""
    hand = hand_from_outside(hinges_left=hinges_left, swings_toward_you=toward_you)
    seen_from_pull = hinges_left if toward_you else not hinges_left
    assert hand in possible_hands(hinges_left_on_pull=seen_from_pull)
    assert hand not in possible_hands(hinges_left_on_pull=not seen_from_pull)
    assert NominalOpening(INCH * 36, INCH * 84, hand=hand).hinges_left_on_pull is seen_from_pull


def test_clear_width_past_one_leaf_of_a_pair() -> None:
    """Geometry: 72 less 1/8, the closed leaf 35-13/16, and the open one 1-3/4 thick with pin 3/4 and rest 1/16."""
    pair = NominalOpening(INCH * 72, INCH * 84, leaves=2, rating_minutes=90)
    clear = clear_width_of_pair(pair, design_leaf(pair, DEFAULT_PROFILE), DEFAULT_PROFILE)
    assert clear == parse_length("33 1/2")
    assert clear_width_passes(clear)
    assert not clear_width_passes(clear, depth=INCH * 25)


@pytest.mark.parametrize(("gauge", "skins", "frame"), [(20, 54, None), (18, 71, 29), (16, 89, 37), (14, 113, 47)])
def test_weights_by_gauge(gauge: int, skins: int, frame: int | None) -> None:
    """Steel at 490 lb per cubic foot (derived): a 3-0 x 7-0 leaf's skins, and its 5-3/4 in double rabbet frame."""
    leaf = leaf_skins(parse_length("35 3/4"), parse_length("83 1/8"), gauge=gauge)
    assert leaf.pounds == pytest.approx(skins, abs=0.6)
    if frame is not None:
        steel = frame_steel(INCH * 36, INCH * 84, jamb_depth=parse_length("5 3/4"), gauge=gauge)
        assert steel.pounds == pytest.approx(frame, abs=0.6)
        assert not steel.two_people


def test_welded_wrap_frame_has_no_rough_opening_of_its_own() -> None:
    """Contractor's article (secondary): its studs come to it."""
    assert rough_openings(FrameKind.WELDED_WRAP, width=INCH * 36, height=INCH * 84) == ()


@pytest.mark.parametrize(
    ("covering", "clearance", "verdict"),
    [
        ("1/8", "5/8", FloorVerdict.FITS),
        ("1/4", "1/2", FloorVerdict.FITS),
        ("1/2", "1/4", FloorVerdict.FITS),
        ("3/4", "0", FloorVerdict.TOO_SMALL),
    ],
)
def test_frame_on_the_slab_loses_the_covering(covering: str, clearance: str, verdict: FloorVerdict) -> None:
    """Derived: vinyl tile, carpet tile, tile and hardwood under a 3/4 in undercut."""
    done = set_floor(
        undercut=parse_length("3/4"), covering=parse_length(covering), foot_on=FootOn.SLAB, rule="nfpa80_steel"
    )
    assert (done.clearance, done.verdict) == (parse_length(clearance), verdict)


def test_anchors_out_of_travel_leave_less_under_the_leaf() -> None:
    """Adjustable base anchors cope with up to 1-3/8 in: common practice."""
    deep = set_floor(
        undercut=parse_length("3/4"),
        covering=parse_length("1 1/2"),
        foot_on=FootOn.FINISH,
        rule="nfpa80_steel",
        travel=parse_length("1 3/8"),
    )
    assert (deep.within_travel, deep.clearance) == (False, parse_length("5/8"))


@pytest.mark.parametrize(
    ("approach", "side", "depth", "beyond", "closer", "passes"),
    [
        ("front", "push", 48, 0, False, True),
        ("front", "push", 48, 0, True, False),
        ("front", "push", 48, 12, True, True),
        ("hinge", "pull", 60, 36, False, True),
        ("hinge", "pull", 54, 42, False, True),
        ("hinge", "pull", 54, 36, False, False),
        ("hinge", "push", 42, 22, False, True),
        ("hinge", "push", 42, 22, True, False),
        ("latch", "pull", 48, 24, False, True),
        ("latch", "pull", 48, 24, True, False),
        ("latch", "push", 42, 24, False, True),
        ("latch", "push", 48, 24, True, True),
    ],
)
def test_floor_to_maneuver_on(  # one row of the table each
    approach: str, side: str, depth: int, beyond: int, closer: bool, passes: bool
) -> None:
    """ADA 404 maneuvering table (mirror)."""
    assert maneuvering_passes(approach, side, depth=INCH * depth, beyond=INCH * beyond, closer=closer) is passes


def test_altered_threshold_and_fire_door_have_their_own_limits() -> None:
    """ADA 404.2.5 and 404.2.9 (mirror)."""
    assert threshold_passes(parse_length("3/4"), upright=parse_length("1/4"), altered=True)
    assert not threshold_passes(parse_length("1/2"), upright=parse_length("3/8"))
    assert opening_force_passes(9, fire_door=True)
