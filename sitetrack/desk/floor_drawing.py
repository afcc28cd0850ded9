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
LEAST_WITH_PICTURE = 1200  # so that what is written on the picture can be read
MOST_WIDTH = 3000
CROWDED_SHARE = 0.1  # of all marks, those that may overlap where doors stand side by side
KNOWN_SHARE = 0.5  # of positions, from which a plan is worth drawing

# Where to try next for a mark whose place is taken: half marks aside, nearest first.
RINGS = sorted(
    ((dx * MARK_WIDTH / 2, dy * MARK_HEIGHT / 2) for dx in range(-4, 5) for dy in range(-2, 3)),
    key=lambda step: (step[0] ** 2 + step[1] ** 2, step),
)

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Placed(Generic[T]):
    """An opening on the plan; `x` and `y` are px of the mark's upper left corner.

    A mark that would cover another stands beside its spot; `spot_x` and `spot_y` are then where its corner belongs.
    """

    what: T
    x: float
    y: float
    spot_x: float
    spot_y: float

    @property
    def moved(self) -> bool:
        """Whether the mark stands beside its spot."""
        return (self.x, self.y) != (self.spot_x, self.spot_y)


@dataclass(frozen=True, slots=True)
class Ground:
    """What a picture of the floor covers, in metres right and up."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True, slots=True)
class Box:
    """Where something lies on the drawing, in px."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Plan(Generic[T]):
    """A floor's plan in px, and the openings that no position is known of.

    `walk` lists the spots' middles in the order given, for drawing the way one walks; `picture` is where the picture of
    the floor lies under them, if there is one.
    """

    width: int
    height: int
    placed: tuple[Placed[T], ...]
    unplaced: tuple[T, ...]
    walk: tuple[tuple[float, float], ...]
    picture: Box | None = None


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


def plan(openings: Sequence[tuple[T, float | None, float | None]], ground: Ground | None = None) -> Plan[T] | None:
    """Place (opening, x, y) on a plan, x and y in metres with y up the sheet.

    On a picture of the floor any number may be placed; without one, None where too few positions are known.
    """
    known = [(what, x, y) for what, x, y in openings if x is not None and y is not None]
    spots = {(x, y) for _, x, y in known}
    if ground is None and (len(spots) < 2 or len(known) < KNOWN_SHARE * len(openings)):
        return None
    corners_of_ground = {(ground.left, ground.bottom), (ground.right, ground.top)} if ground else set()
    left, right, bottom, top = _extent(spots | corners_of_ground)
    least = LEAST_WITH_PICTURE if ground else LEAST_WIDTH
    scale = _scale(sorted(spots), max(right - left, top - bottom), least)
    corners = [(what, MARGIN + (x - left) * scale, MARGIN + (top - y) * scale) for what, x, y in known]
    placed = _set_apart(corners)
    picture = _box(ground, left, top, scale) if ground else None
    ends_x = [place.x + MARK_WIDTH for place in placed] + ([picture.x + picture.width] if picture else [])
    ends_y = [place.y + MARK_HEIGHT for place in placed] + ([picture.y + picture.height] if picture else [])
    return Plan(
        width=round(max(ends_x)) + MARGIN,
        height=round(max(ends_y)) + MARGIN,
        placed=placed,
        unplaced=tuple(what for what, x, y in openings if x is None or y is None),
        walk=tuple((round(x + MARK_WIDTH / 2, 1), round(y + MARK_HEIGHT / 2, 1)) for _, x, y in corners),
        picture=picture,
    )


def _extent(spots: set[tuple[float, float]]) -> tuple[float, float, float, float]:
    """Left, right, bottom and top of some spots."""
    across, up = [x for x, _ in spots], [y for _, y in spots]
    return min(across), max(across), min(up), max(up)


def _box(ground: Ground, left: float, top: float, scale: float) -> Box:
    """Where the ground lies on the drawing: a mark's middle, not its corner, stands on its spot."""
    return Box(
        round(MARGIN + MARK_WIDTH / 2 + (ground.left - left) * scale, 1),
        round(MARGIN + MARK_HEIGHT / 2 + (top - ground.top) * scale, 1),
        round((ground.right - ground.left) * scale, 1),
        round((ground.top - ground.bottom) * scale, 1),
    )


def _set_apart(corners: Sequence[tuple[T, float, float]]) -> tuple[Placed[T], ...]:
    """Move each mark that would cover an earlier one to the nearest free place, tried in rings around its spot.

    Taken marks are looked up by the cell of their corner, so that a big floor costs little.
    """
    taken: dict[tuple[int, int], list[tuple[float, float]]] = {}
    placed = []
    for what, x, y in corners:
        around = ((x + dx, y + dy) for dx, dy in RINGS)
        at_x, at_y = next(((u, v) for u, v in around if min(u, v) >= 0 and _free(taken, u, v)), (x, y))
        taken.setdefault(_cell(at_x, at_y), []).append((at_x, at_y))
        placed.append(Placed(what, round(at_x, 1), round(at_y, 1), round(x, 1), round(y, 1)))
    return tuple(placed)


def _cell(x: float, y: float) -> tuple[int, int]:
    return int(x // MARK_WIDTH), int(y // MARK_HEIGHT)


def _free(taken: dict[tuple[int, int], list[tuple[float, float]]], x: float, y: float) -> bool:
    column, row = _cell(x, y)
    return not any(
        abs(other_x - x) < MARK_WIDTH and abs(other_y - y) < MARK_HEIGHT
        for near_column in (column - 1, column, column + 1)
        for near_row in (row - 1, row, row + 1)
        for other_x, other_y in taken.get((near_column, near_row), ())
    )


def _scale(spots: Sequence[tuple[float, float]], extent: float, least: int) -> float:
    """Px to the metre: enough to part all but the most crowded marks, within the sheet's least and most width."""
    if len(spots) < 2:
        return least / extent
    apart = sorted(_nearest(spots))
    gap = apart[int(len(apart) * CROWDED_SHARE)]
    wanted = MARK_HEIGHT / gap if gap else MOST_WIDTH / extent
    return min(max(wanted, least / extent), MOST_WIDTH / extent)


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
