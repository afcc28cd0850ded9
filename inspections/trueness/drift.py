"""Drift: what boarding does to frames, from readings before and after, per crew or wall kind or any other grouping.

Honest about small numbers: one pair has no interval, few pairs are marked as few, and a share comes with an interval
of its own, so that two frames out of three are not reported as a fact about a crew.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean, stdev

from inspections.trueness.measures import MEASURES
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings
from inspections.trueness.student_t import t_quantile
from inspections.trueness.verdict import Outcome, judge_readings
from sitetrack.kit.lengths import Length

CONFIDENCE = 0.95
# Common practice of statistics: below this a mean's interval leans on the shifts being normally distributed.
FEW = 8


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """One opening read before board and again after it."""

    number: str
    crew: str
    wall: str
    opening: NominalOpening
    before: Readings
    after: Readings


@dataclass(frozen=True, slots=True)
class Share:
    """`out` of `of`, with Wilson's interval for the share; None when there is nothing to count."""

    out: int
    of: int
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Drift:
    """How one measure shifted in one group: mean, its interval where there is one, and what was pushed out."""

    measure: str
    pairs: int
    mean: Length
    low: Length | None
    high: Length | None
    few: bool
    pushed_out: Share

    @property
    def certain(self) -> bool:
        """True when the interval leaves zero out: the shift is not explained by chance alone."""
        return self.low is not None and self.high is not None and (self.low.nm > 0 or self.high.nm < 0)


def drift_of(pairs: Sequence[BeforeAfter], profile: ToleranceProfile) -> list[Drift]:
    """The drift of every measure read before and after in any of the pairs."""
    standing = [(pair, _in_or_out(pair, pair.before, profile), _in_or_out(pair, pair.after, profile)) for pair in pairs]
    found = []
    for measure in MEASURES:
        shifts = [
            float((pair.after.lengths[measure] - pair.before.lengths[measure]).nm)
            for pair in pairs
            if measure in pair.before.lengths and measure in pair.after.lengths
        ]
        if shifts:
            inside = [after[measure] for _, before, after in standing if before.get(measure) and measure in after]
            found.append(_drift(measure, shifts, share_of(len(inside) - sum(inside), len(inside))))
    return found


def mean_interval(values: Sequence[float], confidence: float = CONFIDENCE) -> tuple[float, float] | None:
    """The interval of a mean by Student's t; None for fewer than two values."""
    if len(values) < 2:
        return None
    half = t_quantile(confidence, len(values) - 1) * stdev(values) / math.sqrt(len(values))
    mean = fmean(values)
    return mean - half, mean + half


def share_of(out: int, of: int, confidence: float = CONFIDENCE) -> Share:
    """A share with Wilson's score interval, which stays honest at none, at all, and at small numbers."""
    if of == 0:
        return Share(0, 0, None, None)
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    middle = (out + z * z / 2) / (of + z * z)
    half = z / (of + z * z) * math.sqrt(out * (of - out) / of + z * z / 4)
    return Share(out, of, max(0.0, middle - half), min(1.0, middle + half))


def _drift(measure: str, shifts: Sequence[float], pushed_out: Share) -> Drift:
    interval = mean_interval(shifts)
    low, high = (None, None) if interval is None else (Length(round(interval[0])), Length(round(interval[1])))
    return Drift(measure, len(shifts), Length(round(fmean(shifts))), low, high, len(shifts) < FEW, pushed_out)


def _in_or_out(pair: BeforeAfter, readings: Readings, profile: ToleranceProfile) -> Mapping[str, bool]:
    verdict = judge_readings(readings, opening=pair.opening, profile=profile, required=())
    return {item.name: item.verdict is Outcome.PASS for item in verdict.items if not item.derived}
