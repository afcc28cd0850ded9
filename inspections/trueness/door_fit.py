"""Will the door fit, before there is a door: gaps, stop, floor through the swing, and whether it swings by itself.

The leaf is a rigid rectangle hung on the hinge jamb at the design gap. Strike gap at a height is the width there less
leaf and hinge gap; head gap at the strike end is the design gap plus squareness; the leaf meets a twisted stop at one
end first. A gap under the rule's least binds (the edge of a 1-3/4 in leaf swings out by some 3/64 in beyond its
width), a floor clearance of nothing drags, and too wide a gap is told without calling the door anything but free.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.standards.clearances import GAP_RULES, GapRule
from inspections.standards.limits import Limit
from inspections.trueness.leaf import Leaf
from inspections.trueness.opening import FootOn, NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings
from inspections.trueness.shape import FrameShape, frame_shape
from inspections.trueness.swing import Hanging, Lowest, SelfSwing, least_clearance, self_swing
from sitetrack.kit.lengths import ZERO, Length


class Fit(StrEnum):
    """What the door will do in this frame."""

    FREE = "free"
    BINDS = "binds"
    DRAGS = "drags"


class Problem(StrEnum):
    """What is wrong at one place."""

    BINDS = "binds"
    DRAGS = "drags"
    WIDE = "wide"


@dataclass(frozen=True, slots=True)
class Trouble:
    """One place where the leaf does not sit as the rule asks, and by how much."""

    place: str
    problem: Problem
    by: Length
    limit: Limit


@dataclass(frozen=True, slots=True)
class DoorFit:
    """The answer: verdict, gaps by place, and what happens at the stop, over the floor and when let go."""

    verdict: Fit
    gaps: dict[str, Length]
    stop_misfit: Length
    stop_touches_first: str | None
    floor_at_rest: Length
    floor_least: Lowest
    self_swing: SelfSwing
    troubles: tuple[Trouble, ...]
    rule: GapRule
    leaf: Leaf
    assumed: tuple[str, ...]


def door_fit(readings: Readings, *, opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile) -> DoorFit:
    """Fit a leaf, or the two like leaves of a pair, into the frame as it was read; raises nothing."""
    shape = frame_shape(readings.lengths, opening)
    rule = GAP_RULES[profile.gap_rule]
    gaps = pair_gaps(shape, opening, leaf, profile) if opening.leaves == 2 else single_gaps(shape, leaf, profile)
    hangings = _hangings(readings, shape, opening, leaf, profile)
    swings = [
        least_clearance(hangings[0], readings.floor_rise, profile.max_swing),
        # What lies under the other leaf of a pair was not read; it is judged over a level floor.
        *(least_clearance(hanging, (), profile.max_swing) for hanging in hangings[1:]),
    ]
    lowest = min(swings, key=lambda swing: swing.clearance)
    misfit = max(ZERO, abs(shape.twist) - profile.stop_gap.length)
    troubles = (
        *_gap_troubles(gaps, rule),
        *_stop_trouble(misfit, shape, profile),
        *_floor_troubles(hangings, lowest, rule),
    )
    return DoorFit(
        verdict=_overall(troubles),
        gaps=gaps,
        stop_misfit=misfit,
        stop_touches_first=_first_touch(shape.twist),
        floor_at_rest=hangings[0].at_rest,
        floor_least=lowest,
        self_swing=self_swing(shape.hinge_face),
        troubles=troubles,
        rule=rule,
        leaf=leaf,
        assumed=shape.assumed,
    )


def single_gaps(shape: FrameShape, leaf: Leaf, profile: ToleranceProfile) -> dict[str, Length]:
    """Gaps of a single leaf, each by its place."""
    edge = profile.edge_gap.length
    taken = leaf.width + edge
    return {
        "strike_head": shape.width_head - taken,
        "strike_mid": shape.width_mid - taken,
        "strike_floor": shape.width_floor - taken,
        "head_hinge": edge,
        "head_strike": edge + shape.squareness,
    }


def pair_gaps(shape: FrameShape, opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile) -> dict[str, Length]:
    """Gaps of a pair, each leaf hung on its own jamb; the second hangs on the jamb across from the hinge jamb.

    Each leaf stays square to its own jamb, so at the meeting edge the head gap has changed by its share of what the
    head is out of square to that jamb.
    """
    edge = profile.edge_gap.length
    taken = leaf.width * 2 + edge * 2
    parting = shape.hinge_side - shape.strike_side
    from_second = Length(round(Fraction(parting.nm * opening.width.nm, opening.height.nm))) - shape.squareness
    share = Fraction(leaf.width.nm, opening.width.nm)
    return {
        "meeting_head": shape.width_head - taken,
        "meeting_mid": shape.width_mid - taken,
        "meeting_floor": shape.width_floor - taken,
        "head_hinge": edge,
        "head_meeting": edge + Length(round(shape.squareness.nm * share)),
        "head_meeting_second": edge + Length(round(from_second.nm * share)),
        "head_strike": edge,
    }


def _hangings(
    readings: Readings, shape: FrameShape, opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile
) -> list[Hanging]:
    undercut = opening.height - profile.edge_gap.length - leaf.height
    hinge_rest = undercut + _lift(readings, "foot_gap_hinge", opening) - opening.covering
    hangings = [Hanging(leaf.width, opening.height, shape.hinge_side, shape.hinge_face, hinge_rest)]
    if opening.leaves == 2:
        strike_rest = undercut + _lift(readings, "foot_gap_strike", opening) - opening.covering
        # Seen from its own jamb the second leaf points back, so a lean toward the opening is against x.
        hangings.append(Hanging(leaf.width, opening.height, -shape.strike_side, shape.strike_face, strike_rest))
    return hangings


def _lift(readings: Readings, name: str, opening: NominalOpening) -> Length:
    """How far the frame's foot stands above the slab: as read, else as the opening is meant to be set."""
    read = readings.get(name)
    if read is not None:
        return read
    return opening.covering if opening.foot_on is FootOn.FINISH else ZERO


def _gap_troubles(gaps: dict[str, Length], rule: GapRule) -> Iterator[Trouble]:
    least = ZERO if rule.least is None else rule.least.length
    for place, gap in gaps.items():
        limit = rule.meeting_most if place.startswith("meeting") else rule.most
        # With no least published, a leaf still cannot be wider than its place: touching is binding.
        if gap < least or (rule.least is None and gap <= ZERO):
            yield Trouble(place, Problem.BINDS, least - gap, rule.least or limit)
        elif gap > limit.length:
            yield Trouble(place, Problem.WIDE, gap - limit.length, limit)


def _stop_trouble(misfit: Length, shape: FrameShape, profile: ToleranceProfile) -> Iterator[Trouble]:
    if misfit:
        yield Trouble(_first_touch(shape.twist) or "stop", Problem.BINDS, misfit, profile.stop_gap)


def _floor_troubles(hangings: list[Hanging], lowest: Lowest, rule: GapRule) -> Iterator[Trouble]:
    if lowest.clearance <= ZERO:
        yield Trouble("floor", Problem.DRAGS, -lowest.clearance, rule.bottom_most)
    widest = max(
        max(hanging.at_rest, hanging.at_rest - Length(round(hanging.side.nm * hanging.width.nm / hanging.height.nm)))
        for hanging in hangings
    )
    if widest > rule.bottom_most.length:
        yield Trouble("floor", Problem.WIDE, widest - rule.bottom_most.length, rule.bottom_most)


def _first_touch(twist: Length) -> str | None:
    """Where the closing leaf meets the stop first: the end of the strike stop that stands nearer the pull side."""
    if not twist:
        return None
    return "stop_strike_head" if twist > ZERO else "stop_strike_floor"


def _overall(troubles: tuple[Trouble, ...]) -> Fit:
    problems = {trouble.problem for trouble in troubles}
    if Problem.BINDS in problems:
        return Fit.BINDS
    return Fit.DRAGS if Problem.DRAGS in problems else Fit.FREE
