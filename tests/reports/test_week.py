"""Weeks and cut-offs. Outside checks: `datetime.date.isocalendar`, PEP 495, and the tz database through zoneinfo."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitetrack.reports.week import ReportClock, Week, WeekError, parse_week, week_of

CHICAGO = ZoneInfo("America/Chicago")
ZONES = st.sampled_from(["America/Chicago", "America/Denver", "Europe/Madrid", "Australia/Lord_Howe", "Asia/Kolkata"])
CLOCKS = st.builds(ReportClock, ZONES.map(ZoneInfo), st.integers(1, 7), st.integers(0, 23))
DAYS = st.dates(date(1971, 1, 1), date(2998, 12, 31))
MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2035, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001


@given(DAYS)
def test_a_day_lies_in_the_week_that_the_standard_calendar_says(day):
    week = week_of(day)
    assert (week.year, week.number) == day.isocalendar()[:2]
    assert week.monday <= day <= week.sunday
    assert parse_week(str(week)) == week


@given(st.dates(date(1975, 1, 1), date(2990, 12, 31)), st.integers(-60, 60))
def test_weeks_count_on_across_years(day, weeks):
    assert week_of(day).shifted(weeks) == week_of(day + timedelta(weeks=weeks))


def test_years_of_53_weeks_are_those_that_have_53_thursdays():
    # ISO 8601: a week belongs to the year that has its Thursday.
    for year in range(1990, 2060):
        thursdays = sum(
            (date(year, 1, 1) + timedelta(days=n)).isoweekday() == 4
            for n in range((date(year + 1, 1, 1) - date(year, 1, 1)).days)
        )
        if thursdays == 53:
            assert parse_week(f"{year}-W53").sunday.isocalendar()[:2] == (year, 53)
        else:
            with pytest.raises(WeekError, match=f"W01 to W52 in {year}"):
                parse_week(f"{year}-W53")


@pytest.mark.parametrize(
    "text",
    ["", "2026-9", "2026W09", "2026-W9", "2026-w09", "2026-W00", "2026-W54", "0000-W01", "٢٠٢٦-W09", "2026-W09\n"],
)
def test_text_that_is_no_week_is_refused_with_an_example(text):
    with pytest.raises(WeekError, match="for example 2026-W09"):
        parse_week(text)


def test_monday_morning_closes_the_week_that_ended_the_night_before():
    clock = ReportClock(CHICAGO, 1, 5)
    assert clock.cut_off(Week(2026, 9)) == datetime(2026, 3, 2, 5, tzinfo=CHICAGO)


def test_friday_afternoon_closes_the_week_it_is_in():
    clock = ReportClock(CHICAGO, 5, 17)
    assert clock.cut_off(Week(2026, 9)) == datetime(2026, 2, 27, 17, tzinfo=CHICAGO)


@given(CLOCKS, MOMENTS)
def test_most_of_a_status_lies_in_the_week_it_is_named_after(clock, moment):
    week = clock.running(moment)
    first = clock.cut_off(week.shifted(-1)).astimezone(clock.zone).replace(tzinfo=None)
    middle = first + timedelta(days=3, hours=12)
    assert week_of(middle.date()) == week


@given(CLOCKS, MOMENTS)
def test_every_moment_belongs_to_one_week_only(clock, moment):
    week = clock.running(moment)
    assert clock.cut_off(week.shifted(-1)) <= moment < clock.cut_off(week)
    assert clock.latest_closed(moment) == week.shifted(-1)
    assert clock.running(clock.cut_off(week)) == week.shifted(1)


@pytest.mark.parametrize(("week", "hours"), [("2026-W09", 168), ("2026-W10", 167), ("2026-W44", 169)])
def test_weeks_in_which_the_clock_changes_are_an_hour_shorter_or_longer(week, hours):
    # United States: clocks go forward on 2026-03-08 and back on 2026-11-01 (tz database).
    clock = ReportClock(CHICAGO, 1, 5)
    end = clock.cut_off(parse_week(week))
    assert end - clock.cut_off(parse_week(week).shifted(-1)) == timedelta(hours=hours)
    assert end.astimezone(CHICAGO).hour == 5


def test_an_hour_that_the_clock_skips_or_repeats_still_makes_one_cut_off():
    clock = ReportClock(CHICAGO, 7, 2)
    skipped = clock.cut_off(Week(2026, 10))
    assert skipped == datetime(2026, 3, 8, 8, tzinfo=UTC)  # 02:00 standard time is 03:00 on the clock
    assert skipped.astimezone(CHICAGO).hour == 3
    twice = ReportClock(CHICAGO, 7, 1).cut_off(Week(2026, 44))
    assert twice == datetime(2026, 11, 1, 6, tzinfo=UTC)  # the first of the two, still daylight time


def test_a_running_week_reaches_to_now_and_a_closed_one_to_its_cut_off():
    clock = ReportClock(CHICAGO, 1, 5)
    now = datetime(2026, 3, 4, 12, 0, 0, 999, tzinfo=UTC)
    running, closed = clock.period(Week(2026, 10), now), clock.period(Week(2026, 9), now)
    assert (running.final, running.end) == (False, now.replace(microsecond=0))
    assert (closed.final, closed.end) == (True, running.start)
    assert (closed.start, closed.earlier) == (clock.cut_off(Week(2026, 8)), clock.cut_off(Week(2026, 7)))
    with pytest.raises(WeekError, match="the latest being 2026-W10"):
        clock.period(Week(2026, 11), now)
