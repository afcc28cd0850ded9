"""The rest of a job, worked many times over with weeks drawn from the crews' own past. Pure; the seed is an argument.

A run first draws its own past, as many weeks as there were and some of them twice, and then the weeks to come from
that: so it varies by what a week may bring and by how little the past tells. All trades draw the same week, because
weather and deliveries meet them together; a trade for which that week does not speak draws one of its own.

In a week a trade can do of each stage what it did in the week drawn. What it can't use there, since nothing is ready or
nothing is left, it puts into its other stages, the latest first. Nothing is done before what it waits for; floors are
worked in order.
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inspections.forecast.job import WEEK, Job, Mask, Weights, can_be_done
from inspections.forecast.past_weeks import LEAST_OWN_WEEKS, PastWeeks
from inspections.forecast.spread import spreads, widening

MOST_DAYS = 3 * 52 * WEEK
TURNS_A_DAY = 2  # an opening can pass from one trade to the next between morning and afternoon
NOTHING = 1e-6
NEVER = np.inf

Days = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Runs:
    """What became of the job in each run.

    `finished` gives by step, run and floor the day, 0 being today, on whose evening none of it was left; -1 where none
    was left before, NEVER where it did not come to an end. `earned` has, week after week from today, the weight earned
    in all in a tenth, half and nine tenths of the runs at most, by part: the site, then each trade, then each floor.
    `left` has what was left by step, run and floor after so many days, for the days asked for.
    """

    finished: Days
    earned: list[Weights]
    left: dict[int, Weights]


def known_steps(job: Job, past: PastWeeks) -> Mask:
    """Steps whose trade has weeks to draw from, and that wait for no step without, as far as any of it is left."""
    known: list[bool] = []
    drawn = dict(zip(job.trades, past.own.sum(axis=1) >= LEAST_OWN_WEEKS, strict=True))
    idle = job.left.sum(axis=1) == 0
    for place, step in enumerate(job.steps):
        known.append(bool(idle[place]) or (bool(drawn[step.trade]) and all(known[before] for before in step.after)))
    return np.array(known, dtype=bool)


def run_on(
    job: Job, past: PastWeeks, *, runs: int, seed: int, most_days: int = MOST_DAYS, keep: Collection[int] = ()
) -> Runs:
    """Work the rest of the job so many times, until it is done or `most_days` have gone by."""
    work = _Work(job, past, runs, np.random.default_rng(seed))
    kept: dict[int, Weights] = {}
    earned: list[Weights] = []
    for day in range(most_days):
        if day % WEEK == 0:
            work.draw_a_week()
        work.do_a_day(day)
        if day + 1 in keep:
            kept[day + 1] = work.left.copy()
        if (day + 1) % WEEK == 0:
            earned.append(work.earned())
            if not work.going and len(kept) == len(keep):
                break
    return Runs(work.finished, earned, kept)


class _Work:
    """All runs side by side: arrays by step, run and floor."""

    def __init__(self, job: Job, past: PastWeeks, runs: int, rng: np.random.Generator) -> None:
        self.job, self.past, self.runs, self.rng = job, past, runs, rng
        self.every_run = np.arange(runs)
        self.trade_of = [job.trades.index(step.trade) for step in job.steps]
        self.known = known_steps(job, past)
        self.left: Weights = np.repeat(job.left[:, None, :].astype(float), runs, axis=1)
        self.finished: Days = np.where(self.left > 0, NEVER, -1.0)
        self.able = _widened(job, past)
        # Each run's own past: of all weeks, and of those that speak for each trade.
        self.drawn = rng.integers(0, past.weeks, (runs, past.weeks))
        self.own_drawn = {
            trade: own[rng.integers(0, len(own), (runs, len(own)))]
            for trade, own in enumerate(np.flatnonzero(row) for row in past.own)
            if len(own) >= LEAST_OWN_WEEKS
        }
        self.week: Weights = np.zeros((len(job.steps), runs))

    @property
    def going(self) -> bool:
        """Whether anything that can be told of is left in any run."""
        return bool(self.left[self.known].any())

    def earned(self) -> Weights:
        """The spread of the weight earned in all: by the site, each trade and each floor."""
        whole = self.job.needed * self.job.weights
        still = self.left * self.job.weights[:, :, None]
        of_step = whole.sum(axis=1)[:, None] - still.sum(axis=2)
        of_floor = whole.sum(axis=0)[:, None] - still.sum(axis=0).T
        trades = [of_step[self.job.of_trade(trade)].sum(axis=0) for trade in self.job.trades]
        return spreads(np.vstack([of_step.sum(axis=0), *trades, of_floor]))

    def draw_a_week(self) -> None:
        """What each step can have done in the coming week, in weight, by run."""
        common = self.drawn[self.every_run, self.rng.integers(0, self.past.weeks, self.runs)]
        for trade, own in self.own_drawn.items():
            instead = own[self.every_run, self.rng.integers(0, own.shape[1], self.runs)]
            chosen = np.where(self.past.own[trade][common], common, instead)
            for step, its_trade in enumerate(self.trade_of):
                if its_trade == trade and self.known[step]:
                    self.week[step] = self.able[step][chosen]

    def do_a_day(self, day: int) -> None:
        """Do what can be done on one day."""
        share = float(self.past.share[day % WEEK])
        if not share:
            return
        for _turn in range(TURNS_A_DAY):
            self._take_a_turn(share / TURNS_A_DAY)
        over = (self.left == 0) & (self.finished == NEVER)
        self.finished[over] = day

    def _take_a_turn(self, share: float) -> None:
        spare: Weights = np.zeros((len(self.job.trades), self.runs))
        for step, trade in enumerate(self.trade_of):
            spare[trade] += self._do(step, self.week[step] * share)
        for step in reversed(range(len(self.trade_of))):
            trade = self.trade_of[step]
            if self.known[step]:
                spare[trade] = self._do(step, spare[trade])

    def _do(self, step: int, able: Weights) -> Weights:
        """Put this much weight, by run, into a step, floor by floor; returns what could not be used."""
        left = self.left[step]
        if not able.any() or not left.any():
            return able
        effort = self.job.efforts[step, 0]
        wanted = can_be_done(self.job.needed, self.left, step, self.job.steps[step].after) * effort
        if not wanted.any():
            return able
        before = np.cumsum(wanted, axis=1) - wanted
        given = np.clip(able[:, None] - before, 0.0, wanted)
        left -= given / effort
        left[left < NOTHING] = 0.0
        unused: Weights = np.maximum(able - given.sum(axis=1), 0.0)
        return unused


def _widened(job: Job, past: PastWeeks) -> Weights:
    """What each step had done in each past week, each trade's weeks spread about their mean as few weeks ask for."""
    able = past.earned.copy()
    for place, trade in enumerate(job.trades):
        own, mine = past.own[place], job.of_trade(trade)
        if own.sum() < LEAST_OWN_WEEKS:
            continue
        weekly = past.earned[mine].sum(axis=0)
        mean = weekly[own].mean()
        spread = np.maximum(mean + (weekly - mean) * widening(int(own.sum())), 0.0)
        able[mine] *= np.where(weekly > 0, spread / np.maximum(weekly, NOTHING), 0.0)
    return able
