"""The crews' own past weeks: what each trade earned in seven days, stage by stage, and which weeks speak for it. Pure.

Weeks are counted back from today, so that the last is whole whatever weekday it is. A trade's weeks begin with the
first it was there for from the first day on. A week in which it ran out of work says only that it can do at least that
much; it is taken to have been able to do its best week.
"""

from dataclasses import dataclass

import numpy as np

from inspections.forecast.job import WEEK, Job, Mask, Weights, can_be_done

# Fewer weeks than this say nothing of a trade: two are the fewest that can differ.
LEAST_OWN_WEEKS = 2
# With less than a day's work left at its end, a week ended for want of work. Five days to a week.
DAYS_WORKED = 5


@dataclass(frozen=True, slots=True)
class PastWeeks:
    """`earned` is weight by step and week, oldest first; `own` tells by trade and week which weeks speak for a trade.

    `share` is the part of a week's work done on each of the seven days from today's weekday on.
    """

    earned: Weights
    own: Mask
    share: Weights

    @property
    def weeks(self) -> int:
        """How many whole weeks there are."""
        return int(self.own.shape[1])


def past_weeks(job: Job) -> PastWeeks:
    """The whole weeks before today; none where the job is younger than one."""
    weeks = job.days // WEEK
    skipped = job.days - weeks * WEEK
    per_day = (job.done * job.efforts[:, :, None]).sum(axis=1)
    earned = per_day[:, skipped:].reshape(len(job.steps), weeks, WEEK).sum(axis=2)
    own = np.zeros((len(job.trades), weeks), dtype=bool)
    raised = earned.copy()
    for place, trade in enumerate(job.trades):
        mine = job.of_trade(trade)
        days = np.flatnonzero(per_day[mine].sum(axis=0))
        if not len(days):
            continue
        own[place] = [days[0] <= skipped + week * WEEK for week in range(weeks)]
        raised[mine] = _raised(job, mine, earned[mine], skipped) if weeks else earned[mine]
    by_weekday = per_day[:, skipped:].sum(axis=0).reshape(weeks, WEEK).sum(axis=0)
    whole = by_weekday.sum()
    return PastWeeks(raised, own, by_weekday / whole if whole else by_weekday)


def _raised(job: Job, mine: Mask, earned: Weights, skipped: int) -> Weights:
    """A trade's weeks, those that ended for want of work brought up to its best, their stages in the same shares."""
    weekly = earned.sum(axis=0)
    raised = earned.copy()
    for week, weight in enumerate(weekly):
        evening = skipped + (week + 1) * WEEK
        if 0 < weight < weekly.max() and _work_left(job, mine, evening) < weight / DAYS_WORKED:
            raised[:, week] *= weekly.max() / weight
    return raised


def _work_left(job: Job, mine: Mask, days: int) -> float:
    """The weight a trade could have gone on with, so many days into the job."""
    left = np.maximum(job.needed - job.done[:, :, :days].sum(axis=2), 0).astype(float)
    return float(
        sum(
            can_be_done(job.needed, left, int(place), job.steps[int(place)].after).sum() * job.efforts[place, 0]
            for place in np.flatnonzero(mine)
        )
    )
