"""ISO 8601 weeks on the site's own clock."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.api.weeks import week_bounds
from sitetrack.kit.problems import BadInput

CHICAGO = ZoneInfo("America/Chicago")
ZONES = ["America/Chicago", "America/St_Johns", "Asia/Kathmandu", "Pacific/Auckland", "America/Sao_Paulo", "UTC"]


def local(text: str, zone: str = "America/Chicago") -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


@pytest.mark.parametrize(
    ("week", "first", "after"),
    [
        # ISO 8601: week 1 has the year's first Thursday; a year that starts or ends on a Thursday has 53.
        ("2020-W53", "2020-12-28", "2021-01-04"),
        ("2026-W53", "2026-12-28", "2027-01-04"),
        ("2026-W01", "2025-12-29", "2026-01-05"),
        ("2026-W09", "2026-02-23", "2026-03-02"),
        ("2021-W52", "2021-12-27", "2022-01-03"),
    ],
)
def test_a_week_is_monday_to_monday_on_the_sites_clock(week: str, first: str, after: str) -> None:
    assert week_bounds(week, CHICAGO) == (local(first), local(after))


def test_the_week_the_clocks_go_forward_has_an_hour_less_and_back_an_hour_more() -> None:
    spring, autumn = week_bounds("2026-W10", CHICAGO), week_bounds("2026-W44", CHICAGO)
    hours = [(end.astimezone(UTC) - begin.astimezone(UTC)) / timedelta(hours=1) for begin, end in (spring, autumn)]
    assert hours == [167, 169]


@pytest.mark.parametrize(
    "text", ["2021-W53", "2026-W00", "2026-W54", "2026-9", "2026W09", "W09", "", "2026-W9", "x" * 999]
)
def test_a_week_that_is_none_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(BadInput, match="2026-W09"):
        week_bounds(text, CHICAGO)


@given(
    st.datetimes(datetime(2015, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001 - zone apart
    st.sampled_from(ZONES),
)
def test_every_moment_lies_in_the_week_the_calendar_prints_for_it(moment: datetime, zone: str) -> None:
    """Against the C library's own week number, `%G-W%V`."""
    begin, end = week_bounds(moment.astimezone(ZoneInfo(zone)).strftime("%G-W%V"), ZoneInfo(zone))
    assert begin <= moment < end
