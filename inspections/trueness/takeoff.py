"""The takeoff of one opening: everything about its frame that follows from the schedule, before anything is read.

What the schedule does not tell is left out and never guessed; each part is None where it cannot be worked out.
"""

from dataclasses import dataclass

from inspections.standards import spreaders
from inspections.standards.anchors import Wall
from inspections.standards.limits import Citation
from inspections.standards.rough_openings import FrameKind
from inspections.standards.walls import RETURN_5_3_4, RETURN_USUAL
from inspections.trueness.anchors import AnchorPlan, plan_anchors, rule_set_for
from inspections.trueness.clear_width import clear_width, clear_width_of_pair
from inspections.trueness.floor import FloorSet, set_floor
from inspections.trueness.hinges import Hinges, plan_hinges
from inspections.trueness.leaf import Leaf, design_leaf
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.rough_opening import RoughOpening, rough_openings
from inspections.trueness.wall import WallTakeoff, take_off_wall
from inspections.trueness.weights import Weight, frame_steel, leaf_skins
from sitetrack.kit.lengths import Length, from_inches

# Schedules seldom tell the steel; what the weights are worked out for is said beside them.
LEAF_GAUGE, FRAME_GAUGE = 18, 16
# The one profile whose returns are narrower, so that it wraps a wall of 4-7/8 in.
NARROW_RETURN_DEPTH = from_inches(5.75)


@dataclass(frozen=True, slots=True)
class Told:
    """What the schedule tells besides the opening: the wall and how the frame meets it. None is unknown."""

    wall: Wall | None = None
    wall_thickness: Length | None = None
    jamb_depth: Length | None = None
    frame_kind: FrameKind | None = None


@dataclass(frozen=True, slots=True)
class Takeoff:
    """What the frame needs. `spreaders` are cut to the opening's width; a rough opening by each rule that gives one."""

    leaf: Leaf
    hinges: Hinges
    anchors: AnchorPlan | None
    throat: WallTakeoff | None
    each_return: Length | None
    floor: FloorSet
    rough: tuple[RoughOpening, ...]
    spreaders: int
    clear_width: Length
    leaf_weight: Weight
    frame_weight: Weight | None
    sources: tuple[Citation, ...]


def take_off(opening: NominalOpening, told: Told, profile: ToleranceProfile) -> Takeoff:
    """Work out an opening's takeoff by a site's profile; the opening must be of a door's size."""
    leaf = design_leaf(opening, profile)
    hinges = plan_hinges(height=opening.height, leaf_width=leaf.width, thickness=leaf.thickness)
    anchors = None if told.wall is None else anchors_by(profile, opening, told.wall, hinges.heights)
    throat, each_return = _throat(told)
    floor = set_floor(
        undercut=profile.undercut.length, covering=opening.covering, foot_on=opening.foot_on, rule=profile.gap_rule
    )
    cited = [*hinges.sources, *(anchors.sources if anchors else ()), floor.limit.cited(), profile.undercut.cited()]
    return Takeoff(
        leaf=leaf,
        hinges=hinges,
        anchors=anchors,
        throat=throat,
        each_return=each_return,
        floor=floor,
        rough=_rough(opening, told.frame_kind),
        spreaders=spreaders.PER_FRAME,
        clear_width=_clear_width(opening, leaf, profile),
        leaf_weight=leaf_skins(leaf.width, leaf.height, gauge=LEAF_GAUGE),
        frame_weight=_frame_weight(opening, told.jamb_depth),
        sources=_once([*cited, spreaders.SOURCE.cited()]),
    )


def anchors_by(
    profile: ToleranceProfile, opening: NominalOpening, wall: Wall, hinges: tuple[Length, ...]
) -> AnchorPlan:
    """Anchors by the profile's rule set where it speaks of the wall, else by the wall's default."""
    asked = rule_set_for(wall, profile.anchor_rule_set)
    return plan_anchors(height=opening.height, width=opening.width, wall=wall, rule_set=asked, hinges=hinges)


def _throat(told: Told) -> tuple[WallTakeoff | None, Length | None]:
    if told.wall_thickness is None or told.jamb_depth is None:
        return None, None
    each_return = (RETURN_5_3_4 if told.jamb_depth == NARROW_RETURN_DEPTH else RETURN_USUAL).length
    return take_off_wall(told.wall_thickness, jamb_depth=told.jamb_depth, each_return=each_return), each_return


def _rough(opening: NominalOpening, kind: FrameKind | None) -> tuple[RoughOpening, ...]:
    return () if kind is None else rough_openings(kind, width=opening.width, height=opening.height)


def _clear_width(opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile) -> Length:
    return clear_width_of_pair(opening, leaf, profile) if opening.leaves == 2 else clear_width(opening.width)


def _frame_weight(opening: NominalOpening, jamb_depth: Length | None) -> Weight | None:
    if jamb_depth is None:
        return None
    return frame_steel(opening.width, opening.height, jamb_depth=jamb_depth, gauge=FRAME_GAUGE)


def _once(cited: list[Citation]) -> tuple[Citation, ...]:
    return tuple({(each["name"], each["edition"], each["mark"]): each for each in cited}.values())
