"""Hinges for an opening: how many, which size, and their centrelines above the frame's bottom."""

from dataclasses import dataclass
from fractions import Fraction

from inspections.standards.hinges import (
    COUNT_SOURCE,
    DEFAULT_LAYOUT,
    FEWEST,
    FEWEST_UP_TO,
    LAYOUTS,
    ONE_MORE_EACH,
    SIZES,
    WIDEST_THIN_LEAF,
    HingeLayout,
    HingeSize,
)
from inspections.standards.limits import Citation
from sitetrack.kit.lengths import Length, from_inches

USUAL_LEAF = from_inches(Fraction(7, 4))


@dataclass(frozen=True, slots=True)
class Hinges:
    """The hinges of one leaf; `size` is None where the table has no row for so wide and thin a leaf."""

    count: int
    size: HingeSize | None
    heights: tuple[Length, ...]
    layout: HingeLayout

    @property
    def sources(self) -> list[Citation]:
        """Every source used, each once."""
        cited = [COUNT_SOURCE.cited(), self.layout.from_head.cited(), self.layout.from_floor.cited()]
        if self.size is not None:
            cited.insert(1, self.size.height.cited())
        return [each for number, each in enumerate(cited) if each not in cited[:number]]


def hinge_count(height: Length) -> int:
    """Two up to 60 in, and one more for each further 30 in or fraction."""
    over = height - FEWEST_UP_TO.length
    return FEWEST if over.nm <= 0 else FEWEST + -(-over.nm // ONE_MORE_EACH.length.nm)


def hinge_size(width: Length, thickness: Length = USUAL_LEAF) -> HingeSize | None:
    """The hinge for a leaf's width and thickness; None for what the table does not have."""
    for size in SIZES:
        if thickness <= size.thickness_most.length and (size.width_most is None or width <= size.width_most.length):
            # A thin leaf too wide for its own rows would fall through to those of a thicker one.
            if thickness <= SIZES[0].thickness_most.length and width > WIDEST_THIN_LEAF.length:
                return None
            return size
    return None


def plan_hinges(
    *, height: Length, leaf_width: Length, thickness: Length = USUAL_LEAF, layout: str = DEFAULT_LAYOUT
) -> Hinges:
    """Place the hinges of one leaf, lowest first; `layout` is a code of LAYOUTS.

    The top and bottom ones go where the layout says, the rest equally between. A layout that gives edges needs a
    hinge's height; where the table has none the usual 4-1/2 in is taken for placing.
    """
    count = hinge_count(height)
    size = hinge_size(leaf_width, thickness)
    plan = LAYOUTS[layout]
    half = Length(0)
    if not plan.to_centre:
        half = (size.height.length if size else from_inches(Fraction(9, 2))) // 2
    bottom = plan.from_floor.length + half
    top = height - plan.from_head.length - half
    step = Fraction((top - bottom).nm, count - 1)
    heights = tuple(bottom + Length(round(step * number)) for number in range(count))
    return Hinges(count, size, heights, plan)
