"""Where the boxes and lines of a drawn plan go: pure geometry, in pixels.

Theory. Each stage stands on the row after the last of what it waits for, so that work runs down the sheet. A wait that
passes rows by runs through them in a narrow place of its own; waits of one stage share it, as pipes share a riser. In
the gap between two rows each stage that a line bends to has a track of its own, so that no two lines are read as one.
Stages that wait for each other in a ring have no place in any order; they stand on a last row by themselves.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from openings.sequence.stage import Stage
from openings.sequence.structure import untangle

BOX_WIDTH, BOX_HEIGHT = 204, 92
RISER = 12
SPACE = 22
MARGIN_LEFT, MARGIN = 46, 12
GAP, TRACK = 26, 8


@dataclass(frozen=True, slots=True)
class Box:
    """A stage's box; `row` counts from 1, and is 0 for a stage in a ring."""

    stage: Stage
    row: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Line:
    """What a stage waits for: corners of a line from box to box, or part of it; `ends` at the box with an arrow."""

    points: tuple[tuple[float, float], ...]
    ends: bool
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Layout:
    """The whole picture: boxes in plan order, lines, where each row stands, and how large it all is."""

    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    rows: tuple[tuple[int, float], ...]
    width: float
    height: float


# A place on a row: a stage's code and True, or the riser of a stage further down and False.
Place = tuple[str, bool]
# A piece of line between two rows: the upper row, from, to, and the stage waited for.
Link = tuple[int, Place, Place, str]


def lay_out(stages: Sequence[Stage]) -> Layout:
    """Place every stage and every wait; takes unsound plans too."""
    by_code = {stage.code: stage for stage in stages}
    after = {code: tuple(b for b in stage.after if b in by_code) for code, stage in by_code.items()}
    order, tangled = untangle(after)
    row_of: dict[str, int] = {}
    for code in order:
        row_of[code] = 1 + max((row_of[before] for before in after[code]), default=0)
    rows = _rows(by_code, row_of, after)
    if tangled:
        rows.append([(code, True) for code in by_code if code in tangled])
    links = _links(row_of, after)
    xs = _across(rows, links)
    tops, tracks = _down(rows, links, xs)
    boxes = tuple(
        Box(by_code[code], 0 if code in tangled else row_of[code], xs[n][code, True], tops[n])
        for code in by_code
        for n in range(len(rows))
        if (code, True) in xs[n]
    )
    right = max((box.x + BOX_WIDTH for box in boxes), default=0)
    right = max([right, *(x + RISER for row in xs for x in row.values())])
    return Layout(
        boxes=boxes,
        lines=tuple(_lines(links, xs, tops, tracks)),
        rows=tuple((n + 1 if n < len(rows) - bool(tangled) else 0, top) for n, top in enumerate(tops)),
        width=right + MARGIN,
        height=(tops[-1] + BOX_HEIGHT if tops else 0) + MARGIN + GAP / 2,
    )


def _rows(
    by_code: Mapping[str, Stage], row_of: Mapping[str, int], after: Mapping[str, Sequence[str]]
) -> list[list[Place]]:
    """What stands on each row: stages in plan order, then the risers that pass it."""
    rows: list[list[Place]] = [[] for _ in range(max(row_of.values(), default=0))]
    for code in by_code:
        if code in row_of:
            rows[row_of[code] - 1].append((code, True))
    for code, row in row_of.items():
        first = min((row_of[before] for before in after[code]), default=row)
        for passed in range(first, row - 1):
            rows[passed].append((code, False))
    return rows


def _links(row_of: Mapping[str, int], after: Mapping[str, Sequence[str]]) -> list[Link]:
    """Every piece of line between two rows that follow each other."""
    links: list[Link] = []
    for code, row in row_of.items():
        for before in after[code]:
            here: Place = (before, True)
            for passed in range(row_of[before], row):
                there: Place = (code, passed + 1 == row)
                links.append((passed - 1, here, there, before))
                here = there
    return list(dict.fromkeys(links))


def _across(rows: Sequence[Sequence[Place]], links: Sequence[Link]) -> list[dict[Place, float]]:
    """The left edge of every place, each as near below what it hangs from as the row allows."""
    placed: list[dict[Place, float]] = []
    for n, row in enumerate(rows):
        wish: dict[Place, float] = {}
        for number, place in enumerate(row):
            above = [_middle(here, placed[n - 1][here]) for r, here, there, _ in links if r == n - 1 and there == place]
            width = _width(place)
            wish[place] = sum(above) / len(above) - width / 2 if above else MARGIN_LEFT + number * (BOX_WIDTH + SPACE)
        xs: dict[Place, float] = {}
        edge = float(MARGIN_LEFT)
        for place in sorted(row, key=lambda each: wish[each] + _width(each) / 2):
            xs[place] = max(edge, wish[place])
            edge = xs[place] + _width(place) + SPACE
        placed.append(xs)
    return placed


def _down(
    rows: Sequence[Sequence[Place]],
    links: Sequence[Link],
    xs: Sequence[Mapping[Place, float]],
) -> tuple[list[float], list[list[Place]]]:
    """The top of every row, and in the gap below each the places that lines bend to, a track each."""
    tops, tracks, y = [], [], float(MARGIN)
    for n in range(len(rows)):
        tops.append(y)
        bent = [
            there
            for r, here, there, _ in links
            if r == n and abs(_middle(here, xs[n][here]) - _middle(there, xs[n + 1][there])) > 1
        ]
        tracks.append(list(dict.fromkeys(bent)))
        y += BOX_HEIGHT + GAP + TRACK * len(tracks[-1])
    return tops, tracks


def _lines(
    links: Sequence[Link],
    xs: Sequence[Mapping[Place, float]],
    tops: Sequence[float],
    tracks: Sequence[Sequence[Place]],
) -> list[Line]:
    lines = []
    for n, here, there, before in links:
        start, end = _middle(here, xs[n][here]), _middle(there, xs[n + 1][there])
        foot, head = tops[n] + BOX_HEIGHT, tops[n + 1]
        # A riser's line goes on through its row; a box's begins at its foot.
        points = [(start, foot)]
        if there in tracks[n]:
            level = foot + GAP / 2 + TRACK * tracks[n].index(there)
            points += [(start, level), (end, level)]
        points.append((end, head if there[1] else head + BOX_HEIGHT))
        lines.append(Line(tuple(points), there[1], before, there[0]))
    return lines


def _width(place: Place) -> int:
    return BOX_WIDTH if place[1] else RISER


def _middle(place: Place, x: float) -> float:
    return x + _width(place) / 2
