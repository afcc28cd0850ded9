"""How long to wait before trying again what somebody outside did not take."""

import random
from collections.abc import Callable
from datetime import timedelta

FIRST = timedelta(minutes=1)
LONGEST = timedelta(hours=6)
# After so long what was to be told is no news, and a person must look at why it can't be. Chosen here.
GIVE_UP_AFTER = timedelta(days=4)

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
