"""What was planned, as far as floors' dates tell it. Pure.

The plan is the dates and nothing else, so the simplest reading of them is taken: each floor's weight is earned evenly,
day by day, from the start of the job to the floor's date. At each date it comes to what the weekly status calls due.
"""

from collections.abc import Iterable
from datetime import date


def planned_by(day: date, starts: date, floors: Iterable[tuple[int, date | None]]) -> float:
    """The weight planned by the evening of a day, from each floor's (weight, date); none of a floor without a date."""
    return sum(weight * _share(day, starts, due) for weight, due in floors if due is not None)


def _share(day: date, starts: date, due: date) -> float:
    if day >= due:
        return 1.0
    if day < starts:
        return 0.0
    return ((day - starts).days + 1) / ((due - starts).days + 1)
