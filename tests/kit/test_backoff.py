"""How long is waited: longer each time, and as long as was asked for."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from sitetrack.kit.backoff import LONGEST, LONGEST_ASKED, wait_after, wait_asked

# The moment and its date of RFC 9110, 10.2.3, from memory: "Retry-After: Fri, 31 Dec 1999 23:59:59 GMT".
NEW_YEARS_EVE = datetime(1999, 12, 31, 23, 59, 59, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.mark.parametrize(
    ("field", "wait"),
    [
        ("120", timedelta(minutes=2)),
        (" 0 ", timedelta(0)),
        ("Fri, 31 Dec 1999 23:59:59 GMT", HOUR),
        ("Friday, 31-Dec-99 23:59:59 GMT", HOUR),  # obsolete RFC 850 form, still to be understood (5.6.7)
        ("Thu, 30 Dec 1999 23:59:59 GMT", timedelta(0)),
        ("99999999999999999999", LONGEST_ASKED),
        ("Fri, 31 Dec 2100 23:59:59 GMT", LONGEST_ASKED),
        ("", timedelta(0)),
        ("-5", timedelta(0)),
        ("soon", timedelta(0)),
        ("Fri, 99 Dec 1999 23:59:59 GMT", timedelta(0)),
        ("²", timedelta(0)),
    ],
)
def test_what_a_receiver_asks_for_is_waited_within_reason(field: str, wait: timedelta) -> None:
    assert wait_asked(field, NEW_YEARS_EVE - HOUR) == wait


def test_each_wait_is_longer_than_the_one_before_up_to_a_limit_and_spread() -> None:
    longest = [wait_after(tries, lambda: 1.0) for tries in range(1, 20)]
    assert all(before < after or after == LONGEST for before, after in pairwise(longest))
    assert longest[-1] == LONGEST
    assert wait_after(3, lambda: 0.0) == longest[2] / 2
