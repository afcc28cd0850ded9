"""The floor under a frame: what to set the base anchors to, and the clearance that leaves under the leaf.

Undercut is from the leaf's bottom to the frame's bottom; floor clearance from the leaf's bottom to whatever is under
it. They are two things and kept as two.
"""

from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.clearances import GAP_RULES, RAISED_BOTTOM
from inspections.standards.floors import BASE_ANCHOR_TRAVEL
from inspections.standards.limits import Limit
from inspections.trueness.opening import FootOn
from sitetrack.kit.lengths import ZERO, Length


class FloorVerdict(StrEnum):
    """Whether the leaf clears the floor, and not by too much."""

    FITS = "fits"
    TOO_SMALL = "too_small"
    TOO_WIDE = "too_wide"


@dataclass(frozen=True, slots=True)
class FloorSet:
    """The base-anchor setting and what follows from it."""

    setting: Length
    travel: Length
    within_travel: bool
    undercut: Length
    clearance: Length
    limit: Limit
    verdict: FloorVerdict


def floor_clearance(
    undercut: Length, *, foot_gap: Length, covering: Length, threshold: Length = ZERO, extension: Length = ZERO
) -> Length:
    """From leaf to what is under it; `foot_gap`: frame foot above the slab, `extension`: jamb below its bottom."""
    return undercut + foot_gap - covering - threshold - extension


def undercut_for(clearance: Length, *, covering: Length, threshold: Length = ZERO, extension: Length = ZERO) -> Length:
    """The undercut a wanted clearance needs on a frame that stands on the slab (HMMA's sum)."""
    return clearance + covering + threshold + extension


def bottom_limit(rule: str, *, door_bottom_above_floor: Length = ZERO) -> Limit:
    """The most a leaf may clear below; its own limit where the leaf starts more than 38 in above the floor."""
    gap_rule = GAP_RULES[rule]
    if gap_rule.raised_bottom_most is not None and door_bottom_above_floor > RAISED_BOTTOM.length:
        return gap_rule.raised_bottom_most
    return gap_rule.bottom_most


def set_floor(
    *,
    undercut: Length,
    covering: Length,
    foot_on: FootOn,
    rule: str,
    threshold: Length = ZERO,
    travel: Length | None = None,
) -> FloorSet:
    """Set a frame's foot: on the slab nothing is set; to the finish floor the anchors rise by the covering.

    Past the anchors' travel they rise as far as they go, and the rest is missing under the leaf.
    """
    reach = BASE_ANCHOR_TRAVEL.length if travel is None else travel
    setting = covering if foot_on is FootOn.FINISH else ZERO
    lift = min(setting, reach)
    clearance = floor_clearance(undercut, foot_gap=lift, covering=covering, threshold=threshold)
    limit = bottom_limit(rule)
    if clearance <= ZERO:
        verdict = FloorVerdict.TOO_SMALL
    else:
        verdict = FloorVerdict.TOO_WIDE if clearance > limit.length else FloorVerdict.FITS
    return FloorSet(setting, reach, setting <= reach, undercut, clearance, limit, verdict)
