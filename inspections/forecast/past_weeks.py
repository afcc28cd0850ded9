"""The crews' own past weeks: what each trade earned in seven days, stage by stage, and which weeks speak for it. Pure.

Weeks are counted back from today, so that the last is whole whatever weekday it is. A trade's weeks begin with the
first it was there for from the first day on. A week in which it ran out of work counts as it was, though the trade
could have done more; so a forecast is late rather than early where trades wait for each other.
"""

from dataclasses import dataclass

import numpy as np

from inspections.forecast.job import WEEK, Job, Mask, Weights

# Fewer weeks than this say nothing of a trade: two are the fewest that can differ.
LEAST_OWN_WEEKS = 2


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
    for place, trade in enumerate(job.trades):
        mine = job.of_trade(trade)
        days = np.flatnonzero(per_day[mine].sum(axis=0))
        if not len(days):
            continue
        own[place] = [days[0] <= skipped + week * WEEK for week in range(weeks)]
    by_weekday = per_day[:, skipped:].sum(axis=0).reshape(weeks, WEEK).sum(axis=0)
    whole = by_weekday.sum()
    return PastWeeks(earned, own, by_weekday / whole if whole else by_weekday)
