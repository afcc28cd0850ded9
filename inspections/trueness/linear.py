"""The least costly set of changes that brings every row of a small linear model within its bounds.

Minimise sum(cost[j] * |x[j]|) subject to low[i] <= sum(row[i][j] * x[j]) <= high[i]. The dual simplex method: with
no change at all the costs are optimal and only bounds are broken, so each pivot mends a broken bound. Lowest index
first (Bland's rule), which cannot cycle, and which makes earlier unknowns preferred where two cost the same.
Sized for a frame: a dozen rows, eight unknowns.
"""

from collections.abc import Sequence
from dataclasses import dataclass

# Bounds are in nanometres and need no better than a thousandth of one; pivots and costs are of the order of one.
_BROKEN = 1e-3
_NO_PIVOT = 1e-11
_MOST_PIVOTS = 500


@dataclass(frozen=True, slots=True)
class Row:
    """One bounded combination of the unknowns."""

    coefficients: tuple[float, ...]
    low: float
    high: float


def least_change(costs: Sequence[float], rows: Sequence[Row]) -> tuple[float, ...] | None:
    """Return the cheapest x, or None when no x keeps every row within its bounds; no cost may be negative."""
    unknowns = len(costs)
    table, right = _slack_form(unknowns, rows)
    price = [cost for cost in costs for _ in (0, 1)] + [0.0] * len(table)
    basis = list(range(2 * unknowns, 2 * unknowns + len(table)))
    for _ in range(_MOST_PIVOTS):
        broken = [place for place, value in enumerate(right) if value < -_BROKEN]
        if not broken:
            value_of = dict(zip(basis, right, strict=True))
            return tuple(value_of.get(2 * j, 0.0) - value_of.get(2 * j + 1, 0.0) for j in range(unknowns))
        leaving = min(broken, key=basis.__getitem__)
        entering = _entering(table[leaving], price)
        if entering is None:
            return None
        _pivot(table, right, price, leaving, entering)
        basis[leaving] = entering
    return None


def _slack_form(unknowns: int, rows: Sequence[Row]) -> tuple[list[list[float]], list[float]]:
    """Write each bound as `sum <= right` with a slack of its own; each unknown is a rise less a fall, both >= 0."""
    table: list[list[float]] = []
    right: list[float] = []
    for row in rows:
        for sign, bound in ((1.0, row.high), (-1.0, -row.low)):
            table.append([part * sign * side for part in row.coefficients for side in (1.0, -1.0)])
            right.append(bound)
    size = len(table)
    return [line + [float(slack == place) for slack in range(size)] for place, line in enumerate(table)], right


def _entering(line: Sequence[float], price: Sequence[float]) -> int | None:
    """Pick the column whose price rises least for the mend; None when the bound cannot be mended at all."""
    best, cheapest = None, 0.0
    for column, part in enumerate(line):
        if part < -_NO_PIVOT:
            ratio = price[column] / -part
            if best is None or ratio < cheapest - _NO_PIVOT:
                best, cheapest = column, ratio
    return best


def _pivot(table: list[list[float]], right: list[float], price: list[float], place: int, column: int) -> None:
    by = table[place][column]
    line = table[place] = [part / by for part in table[place]]
    value = right[place] = right[place] / by
    for other, parts in enumerate(table):
        factor = parts[column]
        if other != place and factor:
            table[other] = [mine - factor * its for mine, its in zip(parts, line, strict=True)]
            right[other] -= factor * value
    factor = price[column]
    if factor:
        price[:] = [mine - factor * its for mine, its in zip(price, line, strict=True)]
