"""Where the frames of a floor stand on its drawing: on a plan where positions are known, else along the corridors.

Pure. The plan is scaled until neighbouring marks stand clear of each other, as far as the sheet allows; without
positions, each space one walks through is an elevation of its openings in walking order, standing on one floor line.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

MARK_WIDTH, MARK_HEIGHT = 48, 76  # px of a mark with its number under it
MARGIN = 12
LEAST_WIDTH = 640
MOST_WIDTH = 3000
CROWDED_SHARE = 0.1  # of all marks, those that may overlap where doors stand side by side
KNOWN_SHARE = 0.5  # of positions, from which a plan is worth drawing

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Placed(Generic[T]):
    """An opening on the plan; `x` and `y` are px of the mark's upper left corner."""

    what: T
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Plan(Generic[T]):
    """A floor's plan in px, and the openings that no position is known of."""

    width: int
    height: int
    placed: tuple[Placed[T], ...]
    unplaced: tuple[T, ...]


@dataclass(frozen=True, slots=True)
class Run(Generic[T]):
    """The openings off one space, in walking order; `space` is empty where the schedule names none."""

    space: str
    openings: tuple[T, ...]


def runs(openings: Iterable[tuple[str, T]]) -> tuple[Run[T], ...]:
    """Group (space, opening) in walking order by the space they are walked from, spaces in order of first coming."""
    found: dict[str, list[T]] = {}
    for space, opening in openings:
        found.setdefault(space.strip(), []).append(opening)
    return tuple(Run(space, tuple(members)) for space, members in found.items())


def plan(openings: Sequence[tuple[T, float | None, float | None]]) -> Plan[T] | None:
    """Place (opening, x, y) on a plan, x and y in metres with y up the sheet; None where too few are known."""
    known = [(what, x, y) for what, x, y in openings if x is not None and y is not None]
    spots = {(x, y) for _, x, y in known}
    if len(spots) < 2 or len(known) < KNOWN_SHARE * len(openings):
        return None
    left, right = min(x for x, _ in spots), max(x for x, _ in spots)
    bottom, top = min(y for _, y in spots), max(y for _, y in spots)
    scale = _scale(sorted(spots), max(right - left, top - bottom))
    placed = tuple(
        Placed(what, round(MARGIN + (x - left) * scale, 1), round(MARGIN + (top - y) * scale, 1))
        for what, x, y in known
    )
    return Plan(
        width=round((right - left) * scale) + MARK_WIDTH + 2 * MARGIN,
        height=round((top - bottom) * scale) + MARK_HEIGHT + 2 * MARGIN,
        placed=placed,
        unplaced=tuple(what for what, x, y in openings if x is None or y is None),
    )


def _scale(spots: Sequence[tuple[float, float]], extent: float) -> float:
    """Px to the metre: enough to part all but the most crowded marks, within the sheet's least and most width."""
    apart = sorted(_nearest(spots))
    gap = apart[int(len(apart) * CROWDED_SHARE)]
    wanted = MARK_HEIGHT / gap if gap else MOST_WIDTH / extent
    return min(max(wanted, LEAST_WIDTH / extent), MOST_WIDTH / extent)


def _nearest(spots: Sequence[tuple[float, float]]) -> list[float]:
    """Distance of each spot to the next one, sweeping in x so that a big floor costs little."""
    found = []
    for at, (x, y) in enumerate(spots):
        best = float("inf")
        for step in (-1, 1):
            other = at + step
            while 0 <= other < len(spots) and abs(spots[other][0] - x) < best:
                best = min(best, max(abs(spots[other][0] - x), abs(spots[other][1] - y)))
                other += step
        found.append(best)
    return found
