"""Moments as text against RFC 3339."""

from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from sitetrack.kit.clock import from_ms, rfc3339, to_ms
from tests.published_shapes import DATE_TIME, check_shape

FIRST, LAST = datetime(1971, 1, 1), datetime(2090, 1, 1)  # noqa: DTZ001 - the zone is drawn apart
moments = st.datetimes(FIRST, LAST, timezones=st.just(UTC))


@given(moments)
def test_every_moment_is_rfc_3339_in_utc(moment: datetime) -> None:
    text = rfc3339(moment)
    check_shape(text, DATE_TIME)
    assert abs(datetime.fromisoformat(text) - moment) < timedelta(milliseconds=1)


def test_an_offset_is_turned_to_utc() -> None:
    chicago = timezone(timedelta(hours=-6))
    assert rfc3339(datetime(2026, 3, 2, 8, 5, 9, tzinfo=chicago)) == "2026-03-02T14:05:09Z"


@given(moments)
def test_milliseconds_and_back_lose_less_than_one(moment: datetime) -> None:
    assert timedelta(0) <= moment - from_ms(to_ms(moment)) < timedelta(milliseconds=1)
