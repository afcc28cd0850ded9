"""What an accessible door must leave free and how hard it may be to open: ADA 2010, sections 303 and 404."""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.standards.limits import inches, limit_of
from inspections.standards.sources import ADA, ADA_303

CLEAR_WIDTH = inches("32", ADA)
CLEAR_WIDTH_DEEP = inches("36", ADA)
DEEP_OVER = inches("24", ADA)

THRESHOLD_HEIGHT = inches("1/2", ADA)
THRESHOLD_UPRIGHT = inches("1/4", ADA_303)
THRESHOLD_ALTERED = inches("3/4", ADA)

HARDWARE_LOWEST = inches("34", ADA)
HARDWARE_HIGHEST = inches("48", ADA)

OPENING_FORCE = limit_of("5", "lbf", ADA)
CLOSER_SECONDS = limit_of("5", "s", ADA)


@dataclass(frozen=True, slots=True)
class Maneuvering:
    """Level floor a person needs at a swinging door, in inches: depth out from the wall, and width beyond the latch.

    `with_closer` is what replaces a figure when the door has a closer (and, on the push side, a latch).
    On the hinge approach of the push side the width is measured beyond the hinge.
    """

    depth: int
    beyond: int
    depth_with_closer: int
    beyond_with_closer: int
    other_depth: int | None = None
    other_beyond: int | None = None

    def enough(self, *, closer: bool) -> list[tuple[int, int]]:
        """Each pair of depth and width beyond that suffices."""
        pairs = [(self.depth_with_closer, self.beyond_with_closer) if closer else (self.depth, self.beyond)]
        if self.other_depth is not None and self.other_beyond is not None:
            pairs.append((self.other_depth, self.other_beyond))
        return pairs


# (approach, side) as the table has them; the hinge approach on the pull side allows a second pair.
MANEUVERING: Mapping[tuple[str, str], Maneuvering] = {
    ("front", "pull"): Maneuvering(60, 18, 60, 18),
    ("front", "push"): Maneuvering(48, 0, 48, 12),
    ("hinge", "pull"): Maneuvering(60, 36, 60, 36, other_depth=54, other_beyond=42),
    ("hinge", "push"): Maneuvering(42, 22, 48, 22),
    ("latch", "pull"): Maneuvering(48, 24, 54, 24),
    ("latch", "push"): Maneuvering(42, 24, 48, 24),
}
MANEUVERING_SOURCE = ADA
