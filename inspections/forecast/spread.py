"""How far draws from a few weeks must be spread to tell of weeks not seen, and the figures of a spread. Pure."""

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from inspections.trueness.student_t import t_quantile

# Eight runs of ten end within the interval.
INTERVAL = 0.8
LOW, MEDIAN, HIGH = (1 - INTERVAL) / 2, 0.5, (1 + INTERVAL) / 2


def widening(weeks: int) -> float:
    """What draws from so few weeks are spread out by, about their mean; 1 where there are many.

    A sample of n varies by (n - 1)/n of what it was taken from, and its quantiles follow Student's t and not the normal
    distribution; both as in the expanded percentile interval of T. Hesterberg, What Teachers Should Know About the
    Bootstrap, The American Statistician 69 (2015). From memory.
    """
    if weeks < 2:
        return 1.0
    small_sample = math.sqrt(weeks / (weeks - 1))
    return small_sample * t_quantile(INTERVAL, weeks - 1) / NormalDist().inv_cdf(HIGH)


def quantile(ordered: Sequence[float], share: float) -> float:
    """The least value that at least this share of an ordered sample does not pass.

    Never between two values, so that it holds for days and for endless ones too.
    """
    return ordered[_place(len(ordered), share)]


def spreads(rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """A tenth, half and nine tenths of each row, as columns; the quantiles are those of `quantile`."""
    ordered = np.sort(rows, axis=1)
    told: NDArray[np.float64] = ordered[:, [_place(rows.shape[1], share) for share in (LOW, MEDIAN, HIGH)]]
    return told


def _place(count: int, share: float) -> int:
    # A product such as 0.1 * 2000 may come out a hair above the whole number it is.
    return max(0, math.ceil(share * count - 1e-9) - 1)
