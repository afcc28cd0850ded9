"""A job as a forecast sees it: how many openings of each floor need each stage, and when so many of them had it done.

Pure. Openings of a floor are counted and not told apart, so a forecast costs the same for fifty openings as for five
thousand. Days are counted from the first day anything was done.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]
Weights = NDArray[np.float64]
Mask = NDArray[np.bool_]
WEEK = 7


@dataclass(frozen=True, slots=True)
class Step:
    """A stage of a plan. `after` has the places, in the job's steps, of what it waits for; all of them come before it.

    `proves` marks the checks that prove a frame. `weight` is the stage's share of progress, in no unit.
    """

    plan: str
    code: str
    trade: str
    weight: int
    after: tuple[int, ...] = ()
    proves: bool = False


@dataclass(frozen=True, slots=True)
class Done:
    """So many openings of a floor had a step done on a day; `step` and `floor` are places in the job's lists."""

    step: int
    floor: int
    day: date
    count: int


@dataclass(frozen=True)
class Job:
    """What is needed and what was done, until the evening before `today`.

    `floors` are keys in the order in which they are worked. `needed` is by step and floor; `done` by step, floor and
    day from `first` on, and ends the day before `today`.
    """

    steps: tuple[Step, ...]
    floors: tuple[str, ...]
    needed: Counts
    done: Counts
    first: date

    @property
    def days(self) -> int:
        """How many days lie between the first work and today."""
        return int(self.done.shape[2])

    @property
    def today(self) -> date:
        """The first day that is not counted any more."""
        return self.first + timedelta(days=self.days)

    @cached_property
    def weights(self) -> Weights:
        """Of each step, as a column to multiply counts with."""
        return np.array([step.weight for step in self.steps], dtype=float)[:, None]

    @cached_property
    def efforts(self) -> Weights:
        """What a step takes, as a column: its weight, and 1 where it earns nothing, since it takes time too."""
        efforts: Weights = np.maximum(self.weights, 1.0)
        return efforts

    @cached_property
    def left(self) -> Counts:
        """How many openings still need each step, by floor."""
        left: Counts = np.maximum(self.needed - self.done.sum(axis=2), 0)
        return left

    @cached_property
    def trades(self) -> tuple[str, ...]:
        """The trades that have a step, in the order of the plans."""
        return tuple(dict.fromkeys(step.trade for step in self.steps))

    def of_trade(self, trade: str) -> Mask:
        """Which steps are a trade's."""
        return np.array([step.trade == trade for step in self.steps], dtype=bool)

    def as_on(self, days: int) -> "Job":
        """The job as it stood so many days after its first, told with what is known now."""
        return replace(self, done=self.done[:, :, :days])


def job_of(
    steps: Iterable[Step], floors: Iterable[str], needed: Counts, done: Iterable[Done], *, today: date
) -> Job | None:
    """A job from counts; what was done today or later is left out. None where nothing was done before today."""
    past = [each for each in done if each.day < today]
    if not past:
        return None
    first = min(each.day for each in past)
    by_day = np.zeros((*needed.shape, (today - first).days), dtype=np.int64)
    for each in past:
        by_day[each.step, each.floor, (each.day - first).days] += each.count
    return Job(tuple(steps), tuple(floors), needed, by_day, first)


def can_be_done(needed: Counts, left: Weights, step: int, after: tuple[int, ...]) -> Weights:
    """How many openings can have a step done now, by floor (and, before that, by whatever `left` is also told by).

    What is left of an earlier step blocks as many openings of this one; where the earlier step is of more openings
    than this one, its rest is spread over them evenly.
    """
    free = left[step]
    for before in after:
        shared = np.minimum(1.0, needed[step] / np.maximum(needed[before], 1))
        free = np.minimum(free, left[step] - left[before] * shared)
    able: Weights = np.maximum(free, 0.0)
    return able
