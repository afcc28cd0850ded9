"""Weeks of ISO 8601, and the moment at which a week's figures are cut off on a site's own clock. Pure.

A site names the weekday and hour at which it reports. Seven days lie between one such moment and the next; a status
covers those and is named after the ISO week that most of them lie in, as ISO 8601 itself names a week's year after
the one that has most of its days. So Monday 05:00 closes the week that ended the night before, and Friday 17:00 closes
the week it is in. Hours are wall-clock hours: the week in which a clock is put forward has 167 hours, the one in which
it is put back 169.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

WRITTEN = re.compile(r"([0-9]{4})-W([0-9]{2})")
EXAMPLE = "2026-W09"
FIRST_YEAR, LAST_YEAR = 1970, 2999
THURSDAY, NOON = 4, 12


class WeekError(ValueError):
    """Text that names no week; `read` is the text, `expected` what would do. Its words are one sentence."""

    def __init__(self, read: str, expected: str) -> None:
        super().__init__(f"{read[:40]!r} is not a week: expected {expected}, for example {EXAMPLE}.")
        self.read = read[:40]
        self.expected = expected


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """A week of ISO 8601: `year` is the week's own year, which at the turn of the year may not be the day's."""

    year: int
    number: int

    def __str__(self) -> str:
        return f"{self.year:04}-W{self.number:02}"

    @property
    def monday(self) -> date:
        """Its first day."""
        return date.fromisocalendar(self.year, self.number, 1)

    @property
    def sunday(self) -> date:
        """Its last day."""
        return self.monday + timedelta(days=6)

    def shifted(self, weeks: int) -> "Week":
        """The week so many weeks later; earlier where `weeks` is negative."""
        return week_of(self.monday + timedelta(weeks=weeks))


def week_of(day: date) -> Week:
    """The week a day lies in."""
    year, number, _ = day.isocalendar()
    return Week(year, number)


def parse_week(text: str) -> Week:
    """Read `2026-W09`, the extended form of ISO 8601.

    Raises WeekError for any other form, for a year outside 1970 to 2999, and for week 53 of a year that has 52.
    """
    found = WRITTEN.fullmatch(text)
    if not found:
        raise WeekError(text, "a year, -W and two digits")
    year, number = int(found[1]), int(found[2])
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise WeekError(text, f"a year from {FIRST_YEAR} to {LAST_YEAR}")
    last = week_of(date(year, 12, 28)).number  # the 28th of December lies in the last week of every year
    if not 1 <= number <= last:
        raise WeekError(text, f"W01 to W{last} in {year}")
    return Week(year, number)


@dataclass(frozen=True, slots=True)
class ReportClock:
    """When a site reports: `weekday` 1 (Monday) to 7, `hour` 0 to 23, both on the wall clock of `zone`."""

    zone: ZoneInfo
    weekday: int
    hour: int

    def cut_off(self, week: Week) -> datetime:
        """The moment, in UTC, before which a check-in must have been received to count in `week`.

        An hour that the clock skips falls as long after the skip as it was meant to be after its start; of an hour
        that comes twice, the first is meant (PEP 495, fold 0).
        """
        after = (self.weekday, self.hour) < (THURSDAY, NOON)
        day = week.monday + timedelta(days=self.weekday - 1, weeks=int(after))
        return datetime.combine(day, time(self.hour), tzinfo=self.zone).astimezone(UTC)

    def running(self, now: datetime) -> Week:
        """The week that a check-in received at `now` counts in."""
        week = week_of(now.astimezone(self.zone).date()).shifted(-1)
        while self.cut_off(week) <= now:
            week = week.shifted(1)
        return week

    def latest_closed(self, now: datetime) -> Week:
        """The last week whose cut-off has passed."""
        return self.running(now).shifted(-1)

    def period(self, week: Week, now: datetime) -> "Period":
        """What a status of `week` made at `now` covers; up to now where the week is still running.

        Raises WeekError for a week that has not begun.
        """
        start, end = self.cut_off(week.shifted(-1)), self.cut_off(week)
        if now < start:
            raise WeekError(str(week), f"a week that has begun, the latest being {self.running(now)}")
        return Period(
            week=week,
            earlier=self.cut_off(week.shifted(-2)),
            start=start,
            end=min(end, now.replace(microsecond=0)),
            final=end <= now,
            zone=self.zone,
        )


@dataclass(frozen=True, slots=True)
class Period:
    """From `start`, which counts, to `end`, which does not; `earlier` is the start of the period before.

    All whole seconds, so that no check-in falls between two weeks or in both. `final`: the cut-off has passed. `zone`
    is the site's.
    """

    week: Week
    earlier: datetime
    start: datetime
    end: datetime
    final: bool
    zone: ZoneInfo

    @property
    def last_day(self) -> date:
        """The day it is on the site when the period ends."""
        return self.end.astimezone(self.zone).date()
