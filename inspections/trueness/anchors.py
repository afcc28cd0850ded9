"""Jamb anchors: how many by each rule set, where they go, and whether those in place satisfy a rule.

The heights start from the practice of the trade, one anchor above each hinge and its twin straight across on the
strike jamb; what the rule asks for beyond that fills the widest gaps, and anchors move within a hand's breadth of
their hinge to keep the rule's spacing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from inspections.standards.anchors import (
    ANCHOR_RULE_SETS,
    BASE_ANCHORS_PER_JAMB,
    BASE_NOT_COUNTED,
    BASE_SOURCE,
    DEFAULT_RULE_SETS,
    HEAD_ANCHORS,
    HEAD_OVER,
    AnchorRule,
    AnchorTable,
    BoltSpacing,
    Wall,
)
from inspections.standards.limits import Citation, Source
from inspections.standards.sources import PRACTICE
from inspections.trueness.hinges import plan_hinges
from sitetrack.kit.lengths import INCH, Length, from_inches

# Common practice: an anchor clears its hinge's reinforcement and stays within reach of it.
HALF_HINGE = from_inches(Fraction(9, 4))
ABOVE_HINGE_LEAST = INCH
ABOVE_HINGE_USUAL = INCH * 2
ABOVE_HINGE_MOST = INCH * 6


@dataclass(frozen=True, slots=True)
class OtherRuleSet:
    """What another source would ask of the same jamb."""

    rule_set: str
    per_jamb: int
    asks_for_more: bool
    source: Source


@dataclass(frozen=True, slots=True)
class AnchorPlan:
    """Anchors of one frame: per jamb, in the head, at the base, and where those of a jamb go, lowest first.

    `advised` is more than `per_jamb` only where a height sits exactly on a step of the table.
    """

    wall: Wall
    rule_set: str
    per_jamb: int
    advised: int
    head: int
    base: int
    heights: tuple[Length, ...]
    problems: tuple[str, ...]
    other_rule_sets: tuple[OtherRuleSet, ...]
    sources: tuple[Citation, ...]
    note: str


def count_by(rule: AnchorRule, height: Length) -> int:
    """Anchors per jamb by one rule, for a frame of that height."""
    if isinstance(rule, BoltSpacing):
        between = max(0, height.nm - 2 * rule.end.length.nm)
        return -(-between // rule.spacing.length.nm) + 1
    for up_to, count in rule.steps:
        if height <= INCH * up_to:
            return count
    last = INCH * rule.steps[-1][0]
    return rule.beyond + -(-(height - last).nm // (INCH * rule.growth).nm)


def advised_by(rule: AnchorRule, height: Length) -> int:
    """The count of the band above where the height sits exactly on a step, since the text names both bands."""
    on_step = isinstance(rule, AnchorTable) and any(height == INCH * up_to for up_to, _ in rule.steps)
    return count_by(rule, height + Length(1)) if on_step else count_by(rule, height)


def rule_sets_for(wall: Wall) -> Mapping[str, AnchorRule]:
    """Every rule set that speaks of the wall, by code."""
    return {code: rules.walls[wall] for code, rules in ANCHOR_RULE_SETS.items() if wall in rules.walls}


def rule_set_for(wall: Wall, preferred: str | None) -> str:
    """The preferred rule set where it speaks of the wall, else the wall's default."""
    return preferred if preferred is not None and preferred in rule_sets_for(wall) else DEFAULT_RULE_SETS[wall]


def plan_anchors(
    *, height: Length, width: Length, wall: Wall, rule_set: str | None = None, hinges: Sequence[Length] | None = None
) -> AnchorPlan:
    """Plan a frame's anchors; `rule_set` None takes the wall's default, `hinges` None places them as usual.

    KeyError when the rule set does not speak of the wall; ask rule_sets_for first.
    """
    code = rule_set or DEFAULT_RULE_SETS[wall]
    rule = ANCHOR_RULE_SETS[code].walls[wall]
    per_jamb = count_by(rule, height)
    centres = plan_hinges(height=height, leaf_width=width).heights if hinges is None else tuple(hinges)
    if isinstance(rule, BoltSpacing):
        heights = _bolt_heights(rule, height, per_jamb)
    else:
        heights = _heights(rule, height, centres, per_jamb)
    others = tuple(
        OtherRuleSet(other, count_by(its, height), count_by(its, height) > per_jamb, its.source)
        for other, its in rule_sets_for(wall).items()
        if other != code
    )
    head = HEAD_ANCHORS if wall is Wall.STEEL_STUD and width > HEAD_OVER.length else 0
    cited = [rule.source.cited(), BASE_SOURCE.cited(), BASE_NOT_COUNTED.cited(), PRACTICE.cited()]
    if head and HEAD_OVER.cited() not in cited:
        cited.insert(1, HEAD_OVER.cited())
    return AnchorPlan(
        wall=wall,
        rule_set=code,
        per_jamb=per_jamb,
        advised=advised_by(rule, height),
        head=head,
        base=2 * BASE_ANCHORS_PER_JAMB,
        heights=heights,
        problems=check_heights(heights, height=height, rule=rule),
        other_rule_sets=others,
        sources=tuple(cited),
        note=rule.note,
    )


def check_heights(heights: Sequence[Length], *, height: Length, rule: AnchorRule) -> tuple[str, ...]:
    """Say what anchors at those heights get wrong under a rule: too_few, end_distance, spacing; empty when right."""
    placed = sorted(heights)
    problems = [] if len(placed) >= count_by(rule, height) else ["too_few"]
    end = rule.end if isinstance(rule, BoltSpacing) else rule.end_distance
    if end is not None and placed and (placed[0] > end.length or height - placed[-1] > end.length):
        problems.append("end_distance")
    if rule.spacing is not None and any(above - below > rule.spacing.length for below, above in pairwise(placed)):
        problems.append("spacing")
    return tuple(problems)


def _bolt_heights(rule: BoltSpacing, height: Length, count: int) -> tuple[Length, ...]:
    first = rule.end.length
    step = Fraction((height - first * 2).nm, max(1, count - 1))
    return tuple(first + Length(round(step * number)) for number in range(count))


def _heights(rule: AnchorTable, height: Length, hinges: Sequence[Length], count: int) -> tuple[Length, ...]:
    """One above each hinge, then the widest gaps halved, then drawn together to the rule's spacing.

    Where hinges stand too far apart for the rule, the published rule wins and the anchors are spread evenly.
    """
    least = [hinge + HALF_HINGE + ABOVE_HINGE_LEAST for hinge in hinges[:count]]
    most = [hinge + HALF_HINGE + ABOVE_HINGE_MOST for hinge in hinges[:count]]
    heights = [hinge + HALF_HINGE + ABOVE_HINGE_USUAL for hinge in hinges[:count]]
    while len(heights) < count:
        below = max(range(len(heights) - 1), key=lambda place: heights[place + 1] - heights[place])
        low, high = heights[below], heights[below + 1]
        # One that stands between hinges is tied to none of them.
        for column, value in ((heights, low + (high - low) // 2), (least, low), (most, high)):
            column.insert(below + 1, value)
    if rule.spacing is None:
        return tuple(heights)
    apart = rule.spacing.length
    for place in range(1, count):
        if heights[place] - heights[place - 1] > apart:
            heights[place] = max(heights[place - 1] + apart, least[place])
    for place in range(count - 2, -1, -1):
        if heights[place + 1] - heights[place] > apart:
            heights[place] = min(heights[place + 1] - apart, most[place])
    if check_heights(heights, height=height, rule=rule):
        end = (height - apart * (count - 1)) // 2
        return tuple(end + apart * number for number in range(count))
    return tuple(heights)
