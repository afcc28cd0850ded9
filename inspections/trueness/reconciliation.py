"""Readings that bind each other, reconciled by least squares.

Theory. Jambs keep their length and the feet are free to rise, so in the plane of the wall four unknowns carry every
reading: the width at the floor, the side lean of each jamb, and the rise of the strike end of the head. Across the
wall two do: the face lean of each jamb. Where more is read than is unknown, the surplus must agree.

Each reading is a line in those unknowns (deviations are small against the frame, so the diagonals are taken to first
order about the width as read). The columns are made orthonormal; what the readings keep outside the space they span
is the residual r, and h tells how much of a reading its own value decides. r/(1 - h) is then how far that reading
lies from what all the others say, and r/sqrt(1 - h) how well blaming it alone explains the whole disagreement (the
test for one gross error used in surveying). The reading that explains it best is the suspect; when even that needs a
gross error over the profile's limit, the readings contradict each other. A single condition cannot tell its readings
apart: then all of them are named.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import NM_PER_INCH, Length

# Relative: below this a column or a redundancy is nothing but rounding.
_NOTHING = 1e-9
_AS_GOOD = 1e-6


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One reading that cannot stand beside the others: what it says, what they say, and who else could be wrong."""

    reading: str
    read: Length
    others_say: Length
    off_by: Length
    one_of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """The adjustment of one set of readings, in inches and in the order of `names`."""

    names: tuple[str, ...]
    residuals: tuple[float, ...]
    own_share: tuple[float, ...]


def find_contradictions(
    lengths: Mapping[str, Length], opening: NominalOpening, limit: Length
) -> tuple[Contradiction, ...]:
    """Name the readings that disagree with the rest by more than `limit`, the most suspect first.

    The suspect is taken out and the rest looked at again, so that a second mistake is not hidden by the first.
    """
    found = []
    for rows in (_wall_plane_rows(lengths, opening), _across_rows(lengths)):
        left = rows
        while len(left) > 1:
            contradiction = _worst(left, lengths, limit)
            if contradiction is None:
                break
            found.append(contradiction)
            left = [row for row in left if row[0] != contradiction.reading]
    found.sort(key=lambda each: -abs(each.off_by.nm))
    return tuple(found)


def adjust(lengths: Mapping[str, Length], opening: NominalOpening) -> Fit:
    """Fit the readings of the wall plane by least squares, every reading with the same weight."""
    return _fit(_wall_plane_rows(lengths, opening))


_Row = tuple[str, tuple[float, ...], float]


def _wall_plane_rows(lengths: Mapping[str, Length], opening: NominalOpening) -> list[_Row]:
    """Rows (name, coefficients of [floor width, hinge lean, strike lean, head rise], reading less its base), inches."""
    base = lengths.get("width_floor") or lengths.get("width_head") or opening.width
    width, height = base.nm / NM_PER_INCH, opening.height.nm / NM_PER_INCH
    diagonal = math.hypot(width, height)
    across, up = width / diagonal, height / diagonal
    table: tuple[_Row, ...] = (
        ("width_head", (1.0, -1.0, 1.0, 0.0), width),
        ("width_floor", (1.0, 0.0, 0.0, 0.0), width),
        ("diagonal_hinge_foot", (across, 0.0, across, up), diagonal),
        ("diagonal_strike_foot", (across, -across, 0.0, -up), diagonal),
        ("squareness", (0.0, width / height, 0.0, 1.0), 0.0),
        ("head_level", (0.0, 0.0, 0.0, 1.0), 0.0),
        ("hinge_plumb_side", (0.0, 1.0, 0.0, 0.0), 0.0),
        ("strike_plumb_side", (0.0, 0.0, 1.0, 0.0), 0.0),
    )
    return _taken(table, lengths)


def _across_rows(lengths: Mapping[str, Length]) -> list[_Row]:
    """Rows in [hinge face lean, strike face lean], inches."""
    table: tuple[_Row, ...] = (
        ("twist", (-1.0, 1.0), 0.0),
        ("hinge_plumb_face", (1.0, 0.0), 0.0),
        ("strike_plumb_face", (0.0, 1.0), 0.0),
    )
    return _taken(table, lengths)


def _taken(table: Sequence[_Row], lengths: Mapping[str, Length]) -> list[_Row]:
    return [
        (name, coefficients, lengths[name].nm / NM_PER_INCH - base)
        for name, coefficients, base in table
        if name in lengths
    ]


def _fit(rows: Sequence[_Row]) -> Fit:
    """Project the readings on the space their columns span, by Gram-Schmidt; dependent columns drop out."""
    residual = [row[2] for row in rows]
    basis, share = _space(tuple(row[1] for row in rows))
    for direction in basis:
        along = _dot(direction, residual)
        residual = [value - along * part for value, part in zip(residual, direction, strict=True)]
    return Fit(tuple(row[0] for row in rows), tuple(residual), share)


# What is read and the frame's size decide it, not the readings: frames of one size, read alike, share it.
@lru_cache(maxsize=1024)
def _space(coefficients: tuple[tuple[float, ...], ...]) -> tuple[list[list[float]], tuple[float, ...]]:
    """An orthonormal basis of the columns' space, and how much of each reading its own value decides."""
    share = [0.0] * len(coefficients)
    basis: list[list[float]] = []
    for index in range(len(coefficients[0]) if coefficients else 0):
        column = [row[index] for row in coefficients]
        # Twice is enough: a second pass removes what rounding left of the first.
        for direction in basis + basis:
            along = _dot(direction, column)
            column = [value - along * part for value, part in zip(column, direction, strict=True)]
        size = math.sqrt(_dot(column, column))
        if size > _NOTHING:
            basis.append([value / size for value in column])
    for direction in basis:
        share = [held + part * part for held, part in zip(share, direction, strict=True)]
    return basis, tuple(share)


def _dot(first: Sequence[float], second: Sequence[float]) -> float:
    return sum(one * two for one, two in zip(first, second, strict=True))


def _worst(rows: Sequence[_Row], lengths: Mapping[str, Length], limit: Length) -> Contradiction | None:
    fit = _fit(rows)
    blamed = []
    for name, residual, share in zip(fit.names, fit.residuals, fit.own_share, strict=True):
        free = 1.0 - share
        if free > _NOTHING:
            blamed.append((abs(residual) / math.sqrt(free), residual / free, name))
    if not blamed:
        return None
    best = max(explains for explains, _, _ in blamed)
    suspects = [each for each in blamed if each[0] >= best * (1 - _AS_GOOD)]
    _, off_by, name = min(suspects, key=lambda each: round(abs(each[1]), 6))
    off = Length(round(off_by * NM_PER_INCH))
    # A reading off by exactly the limit still agrees; two nanometres are what binary fractions may add.
    if abs(off.nm) <= limit.nm + 2:
        return None
    read = lengths[name]
    return Contradiction(name, read, read - off, off, tuple(each[2] for each in suspects))
