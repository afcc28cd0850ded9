"""When the floors and trades of a job will be done, as ranges, and how its progress will go on. Pure.

A range holds eight runs of ten. Nothing is said before LEAST_WEEKS whole weeks have gone by, and nothing of what waits
for a trade that has no two weeks behind it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from inspections.forecast.job import WEEK, Job, Mask, Weights
from inspections.forecast.past_weeks import PastWeeks, past_weeks
from inspections.forecast.runs import NEVER, Days, known_steps, run_on
from inspections.forecast.spread import HIGH, LOW, MEDIAN, quantile

# What a band is of: ("site", ""), ("trade", a trade) or ("floor", a floor's key).
Part = tuple[str, str]

LEAST_WEEKS = 4
LEAST_RUNS = 2000
MOST_WEEKS_SHOWN = 104


@dataclass(frozen=True, slots=True)
class Range:
    """The evenings by which a tenth, half and nine tenths of the runs had finished; None beyond three years.

    `chance` is the share of runs, from 0 to 1, that finished by the date asked about; None where none was.
    """

    low: date | None
    median: date | None
    high: date | None
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class End:
    """How a part of the job ends: `done` already, or within a `range`; or, with neither, not to be told.

    `untold` then names the trades it waits for that have too few weeks behind them.
    """

    done: bool
    range: Range | None = None
    untold: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FloorOutlook:
    """When every frame of a floor is proved, when all of its work is finished, and when each trade is through there."""

    floor: str
    proved: End
    finished: End
    trades: Mapping[str, End]


@dataclass(frozen=True, slots=True)
class BandPoint:
    """The weight earned in all by the evening of `on`, in a tenth, half and nine tenths of the runs at most."""

    on: date
    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """`weeks` past weeks were there to draw from; `few` gives the trades with fewer than asked for, and how many.

    `site` is None, and the rest is empty, where there were fewer weeks than LEAST_WEEKS. A band ends where nothing more
    happens; it counts nothing of what can't be told.
    """

    today: date
    weeks: int
    runs: int
    seed: int
    few: Mapping[str, int]
    site: End | None = None
    floors: tuple[FloorOutlook, ...] = ()
    trades: Mapping[str, End] = field(default_factory=dict)
    bands: Mapping[Part, tuple[BandPoint, ...]] = field(default_factory=dict)


def outlook(
    job: Job,
    *,
    seed: int,
    runs: int = LEAST_RUNS,
    due: Mapping[str, date | None] | None = None,
    ends: date | None = None,
) -> Outlook:
    """Forecast a job. `due` gives the day each floor is to be proved, `ends` the day the whole is to be finished."""
    past = past_weeks(job)
    few = few_weeks(job, past)
    if past.weeks < LEAST_WEEKS:
        return Outlook(job.today, past.weeks, runs, seed, few)
    worked = run_on(job, past, runs=runs, seed=seed)
    ask = _Asking(job, known_steps(job, past), worked.finished)
    everything: Mask = np.ones(len(job.steps), dtype=bool)
    proving: Mask = np.array([step.proves for step in job.steps], dtype=bool)
    dates = due or {}
    return Outlook(
        today=job.today,
        weeks=past.weeks,
        runs=runs,
        seed=seed,
        few=few,
        site=ask.end(everything, slice(None), ends),
        floors=tuple(
            FloorOutlook(
                floor=key,
                proved=ask.end(proving, slice(place, place + 1), dates.get(key)),
                finished=ask.end(everything, slice(place, place + 1), None),
                trades={
                    trade: ask.end(job.of_trade(trade), slice(place, place + 1), None)
                    for trade in job.trades
                    if job.needed[job.of_trade(trade), place].any()
                },
            )
            for place, key in enumerate(job.floors)
        ),
        trades={trade: ask.end(job.of_trade(trade), slice(None), None) for trade in job.trades},
        bands=_bands(job, worked.earned),
    )


def few_weeks(job: Job, past: PastWeeks) -> dict[str, int]:
    """Trades that still have work and fewer than LEAST_WEEKS weeks behind them, with how many they have."""
    own = past.own.sum(axis=1)
    return {
        trade: int(own[place])
        for place, trade in enumerate(job.trades)
        if own[place] < LEAST_WEEKS and job.left[job.of_trade(trade)].any()
    }


def whole_day(day: float) -> int | None:
    """A day of a run as a number; None where the run did not end."""
    return None if day == NEVER else int(day)


def _bands(job: Job, earned: list[Weights]) -> dict[Part, tuple[BandPoint, ...]]:
    parts: list[Part] = [
        ("site", ""),
        *(("trade", trade) for trade in job.trades),
        *(("floor", floor) for floor in job.floors),
    ]
    return {part: _band(job, [week[place] for week in earned[:MOST_WEEKS_SHOWN]]) for place, part in enumerate(parts)}


def _band(job: Job, weeks: list[Weights]) -> tuple[BandPoint, ...]:
    last = len(weeks)
    while last > 1 and (weeks[last - 1] == weeks[last - 2]).all():
        last -= 1
    return tuple(
        BandPoint(job.today + timedelta(days=WEEK * week - 1), *(round(float(weight), 1) for weight in spread))
        for week, spread in enumerate(weeks[:last], 1)
    )


class _Asking:
    """Asks the runs when a set of steps on a set of floors came to its end."""

    def __init__(self, job: Job, known: Mask, finished: Days) -> None:
        self.job, self.known, self.finished = job, known, finished

    def end(self, steps: Mask, floors: slice, due: date | None) -> End:
        left = self.job.left[:, floors].any(axis=1) & steps
        if not left.any():
            return End(done=True)
        if (left & ~self.known).any():
            return End(done=False, untold=self._waited_for(left))
        last = self.finished[steps][:, :, floors].max(axis=(0, 2))
        ordered = sorted(float(day) for day in last)
        low, median, high = (self._day(quantile(ordered, share)) for share in (LOW, MEDIAN, HIGH))
        chance = None if due is None else float((last <= (due - self.job.today).days).mean())
        return End(done=False, range=Range(low, median, high, chance))

    def _waited_for(self, left: Mask) -> tuple[str, ...]:
        """The trades without weeks to draw from, among these steps and all that they wait for."""
        wanted = {int(place) for place in np.flatnonzero(left & ~self.known)}
        for place in reversed(range(len(self.job.steps))):
            if place in wanted:
                wanted.update(before for before in self.job.steps[place].after if not self.known[before])
        roots = (place for place in sorted(wanted) if all(self.known[b] for b in self.job.steps[place].after))
        return tuple(dict.fromkeys(self.job.steps[place].trade for place in roots))

    def _day(self, day: float) -> date | None:
        number = whole_day(day)
        return None if number is None else self.job.today + timedelta(days=number)
