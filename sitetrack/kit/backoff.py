"""How long to wait before trying again what somebody outside did not take."""

import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

FIRST = timedelta(minutes=1)
LONGEST = timedelta(hours=6)
# After so long what was to be told is no news, and a person must look at why it can't be. Chosen here.
GIVE_UP_AFTER = timedelta(days=4)
# Whoever asks for more patience than this is asked again all the same: the news would be none. Chosen here.
LONGEST_ASKED = timedelta(days=1)

Spread = Callable[[], float]


def chance() -> float:
    """From 0 up to 1, at random; no secret hangs on it."""
    return random.random()  # noqa: S311


def wait_after(tries: int, spread: Spread = chance) -> timedelta:
    """The wait after so many failed tries: doubled each time up to a limit, and between half and whole by chance.

    By chance, so that what failed together does not come back together.
    """
    doubled = FIRST * 2 ** min(max(tries, 1) - 1, 16)
    return min(doubled, LONGEST) * (0.5 + spread() / 2)


def wait_asked(retry_after: str, now: datetime) -> timedelta:
    """The wait that a Retry-After field asks for (RFC 9110, 10.2.3, from memory): seconds, or a date; else none."""
    text = retry_after.strip()
    if text.isascii() and text.isdigit():
        return min(timedelta(seconds=int(text[:9])), LONGEST_ASKED)
    try:
        until = parsedate_to_datetime(text)
    except (TypeError, ValueError, OverflowError):
        return timedelta(0)
    if until.tzinfo is None:
        until = until.replace(tzinfo=UTC)
    return min(max(until - now, timedelta(0)), LONGEST_ASKED)
