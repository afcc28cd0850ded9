"""Where the frames of a floor stand on its drawing: on a plan where positions are known, else along the corridors.

Pure. The plan is scaled until neighbouring marks stand clear of each other, as far as the sheet allows; without
positions, each space one walks through is an elevation of its openings in walking order, standing on one floor line.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, TypeVar

CROWDED_SHARE = 0.1  # of all marks, those that may overlap where doors stand side by side
KNOWN_SHARE = 0.5  # of positions, from which a plan is worth drawing

T = TypeVar("T")


@dataclass(frozen=True)
class Sheet:
    """What is drawn on, in its own units: a mark with its number, the margin, and how wide a plan is at least and most.

    `least_with_picture` is for plans that lie on a picture, so that what is written on it can be read.
    """

    mark_width: float
    mark_height: float
    margin: float
    least: float
    least_with_picture: float
    most: float

    @cached_property
    def rings(self) -> tuple[tuple[float, float], ...]:
        """Where to try next for a mark whose place is taken: half marks aside, nearest first."""
        steps = ((dx * self.mark_width / 2, dy * self.mark_height / 2) for dx in range(-4, 5) for dy in range(-2, 3))
        return tuple(sorted(steps, key=lambda step: (step[0] ** 2 + step[1] ** 2, step)))


SCREEN = Sheet(mark_width=48, mark_height=76, margin=12, least=640, least_with_picture=1200, most=3000)  # px


@dataclass(frozen=True, slots=True)
class Placed(Generic[T]):
    """An opening on the plan; `x` and `y` are the mark's upper left corner, from the sheet's.

    A mark that would cover another stands beside its spot; `spot_x` and `spot_y` are then where its corner belongs. One
    that found no free place near its spot `covers` another.
    """

    what: T
    x: float
    y: float
    spot_x: float
    spot_y: float
    covers: bool

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
    """Where something lies on the drawing."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Plan(Generic[T]):
    """A floor's plan, and the openings that no position is known of.

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


def plan(
    openings: Sequence[tuple[T, float | None, float | None]], ground: Ground | None = None, sheet: Sheet = SCREEN
) -> Plan[T] | None:
    """Place (opening, x, y) on a plan, x and y in metres with y up the sheet.

    On a picture of the floor any number may be placed; without one, None where too few positions are known.
    """
    known = [(what, x, y) for what, x, y in openings if x is not None and y is not None]
    spots = {(x, y) for _, x, y in known}
    if ground is None and (len(spots) < 2 or len(known) < KNOWN_SHARE * len(openings)):
        return None
    corners_of_ground = {(ground.left, ground.bottom), (ground.right, ground.top)} if ground else set()
    left, right, bottom, top = _extent(spots | corners_of_ground)
    least = sheet.least_with_picture if ground else sheet.least
    scale = _scale(sorted(spots), max(right - left, top - bottom), least, sheet)
    corners = [(what, sheet.margin + (x - left) * scale, sheet.margin + (top - y) * scale) for what, x, y in known]
    placed = _set_apart(corners, sheet)
    picture = _box(ground, left, top, scale, sheet) if ground else None
    ends_x = [place.x + sheet.mark_width for place in placed] + ([picture.x + picture.width] if picture else [])
    ends_y = [place.y + sheet.mark_height for place in placed] + ([picture.y + picture.height] if picture else [])
    half_width, half_height = sheet.mark_width / 2, sheet.mark_height / 2
    return Plan(
        width=round(max(ends_x) + sheet.margin),
        height=round(max(ends_y) + sheet.margin),
        placed=placed,
        unplaced=tuple(what for what, x, y in openings if x is None or y is None),
        walk=tuple((round(x + half_width, 1), round(y + half_height, 1)) for _, x, y in corners),
        picture=picture,
    )


def _extent(spots: set[tuple[float, float]]) -> tuple[float, float, float, float]:
    """Left, right, bottom and top of some spots."""
    across, up = [x for x, _ in spots], [y for _, y in spots]
    return min(across), max(across), min(up), max(up)


def _box(ground: Ground, left: float, top: float, scale: float, sheet: Sheet) -> Box:
    """Where the ground lies on the drawing: a mark's middle, not its corner, stands on its spot."""
    return Box(
        round(sheet.margin + sheet.mark_width / 2 + (ground.left - left) * scale, 1),
        round(sheet.margin + sheet.mark_height / 2 + (top - ground.top) * scale, 1),
        round((ground.right - ground.left) * scale, 1),
        round((ground.top - ground.bottom) * scale, 1),
    )


def _set_apart(corners: Sequence[tuple[T, float, float]], sheet: Sheet) -> tuple[Placed[T], ...]:
    """Move each mark that would cover an earlier one to the nearest free place, tried in rings around its spot."""
    taken = _Taken(sheet)
    placed = []
    for what, x, y in corners:
        around = ((x + dx, y + dy) for dx, dy in sheet.rings)
        free = next(((u, v) for u, v in around if min(u, v) >= 0 and taken.is_free(u, v)), None)
        at_x, at_y = free or (x, y)
        taken.take(at_x, at_y)
        placed.append(Placed(what, round(at_x, 1), round(at_y, 1), round(x, 1), round(y, 1), free is None))
    return tuple(placed)


class _Taken:
    """The places that marks stand on, looked up by the cell of their corner, so that a big floor costs little."""

    def __init__(self, sheet: Sheet) -> None:
        self.width, self.height = sheet.mark_width, sheet.mark_height
        self.cells: dict[tuple[int, int], list[tuple[float, float]]] = {}

    def take(self, x: float, y: float) -> None:
        self.cells.setdefault(self._cell(x, y), []).append((x, y))

    def is_free(self, x: float, y: float) -> bool:
        """Whether a mark here would cover none."""
        column, row = self._cell(x, y)
        return not any(
            abs(other_x - x) < self.width and abs(other_y - y) < self.height
            for near_column in (column - 1, column, column + 1)
            for near_row in (row - 1, row, row + 1)
            for other_x, other_y in self.cells.get((near_column, near_row), ())
        )

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        return int(x // self.width), int(y // self.height)


def _scale(spots: Sequence[tuple[float, float]], extent: float, least: float, sheet: Sheet) -> float:
    """Units to the metre: enough to part all but the most crowded marks, within the sheet's least and most width."""
    if len(spots) < 2:
        return least / extent
    apart = sorted(_nearest(spots))
    gap = apart[int(len(apart) * CROWDED_SHARE)]
    wanted = sheet.mark_height / gap if gap else sheet.most / extent
    return min(max(wanted, least / extent), sheet.most / extent)


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
