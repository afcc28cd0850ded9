"""The order in which the openings of a floor are walked."""

from collections.abc import Sequence
from math import hypot

Spot = tuple[float | None, float | None]
# Finding the nearest next opening costs the square of their number; no floor of a job comes near this.
MOST_BY_DISTANCE = 2000


def walking_order(spots: Sequence[Spot]) -> list[int]:
    """Indexes in walking order: the nearest opening next where all positions are known, else as the schedule lists."""
    if len(spots) > MOST_BY_DISTANCE or any(x is None or y is None for x, y in spots):
        return list(range(len(spots)))
    known = [(x, y) for x, y in spots if x is not None and y is not None]
    left = set(range(len(known)))
    # Begin at one end of the floor; ties go by the order of the schedule, so that the walk is always the same.
    here = min(left, key=lambda index: (sum(known[index]), index), default=None)
    order: list[int] = []
    while here is not None:
        order.append(here)
        left.discard(here)
        x, y = known[here]
        here = min(left, key=lambda index: (hypot(known[index][0] - x, known[index][1] - y), index), default=None)
    return order
