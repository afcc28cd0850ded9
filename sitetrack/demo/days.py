"""The working days of the demo job: five weeks that end this morning, 6:30 to 15:30 by the site's own clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

WEEKS = timedelta(weeks=5)
TUESDAY, THURSDAY, SATURDAY = 1, 3, 5
BEGIN, LUNCH, BACK, END = time(6, 30), time(11, 30), time(12, 0), time(15, 30)
MORNING_BEGUN = time(7, 15)
MORNING_ENDS = time(9, 30)
EVERY_DAY = frozenset(range(7))


@dataclass(frozen=True, slots=True)
class JobDays:
    """Working days from first to last, and the moment after which nothing more is done.

    Weekdays, and whatever day the last one is: on a Saturday the crews catch up.
    """

    zone: ZoneInfo
    days: tuple[date, ...]
    until: datetime

    def at(self, day: date, clock: str | time) -> datetime:
        """That time of the site's day, in UTC."""
        when = time.fromisoformat(clock) if isinstance(clock, str) else clock
        return datetime.combine(day, when, self.zone).astimezone(UTC)

    def day_of(self, moment: datetime) -> date:
        """The site's date."""
        return moment.astimezone(self.zone).date()

    def slot(self, moment: datetime, minutes: float, weekdays: Iterable[int] = EVERY_DAY) -> datetime | None:
        """When work of that length can begin at or after `moment`, within one morning or afternoon; None: never."""
        wanted = set(weekdays)
        for day in self.days:
            if day < self.day_of(moment) or day.weekday() not in wanted:
                continue
            for opens, closes in ((BEGIN, LUNCH), (BACK, END)):
                begin = max(moment, self.at(day, opens))
                if begin + timedelta(minutes=minutes) <= self.at(day, closes):
                    return begin
        return None

    def later(self, moment: datetime, days: int, clock: str) -> datetime:
        """That time of day, so many working days after the day of `moment`; past the last day: the last day."""
        today = self.day_of(moment)
        after = [day for day in self.days if day > today]
        return self.at(after[min(days, len(after)) - 1] if after else self.days[-1], clock)


def job_days(now: datetime, zone: ZoneInfo) -> JobDays:
    """The days of a job whose present moment is `now`.

    Before the crews have begun, the last day is the day before. On the last day there is only the morning.
    """
    here = now.astimezone(zone)
    begun = here.time() >= MORNING_BEGUN
    last = here.date() if begun else here.date() - timedelta(days=1)
    first = last - WEEKS
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    working = tuple(day for day in days if day.weekday() < SATURDAY or day == last)
    ends = MORNING_ENDS if begun else END
    until = min(now, datetime.combine(last, ends, zone).astimezone(UTC))
    return JobDays(zone, working, until)
