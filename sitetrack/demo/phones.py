"""The demo's phones: whose each is, how wrong its clock is, and when it finds signal."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum
from random import Random

from sitetrack.demo.days import THURSDAY, TUESDAY, JobDays


class Signal(Enum):
    """When a phone gets through."""

    OFTEN = "every hour or so"
    BREAKS = "at breaks, by the gang box"
    DEAD_SPOT = "at breaks, and on some days not before the next morning"
    VISITS = "while its owner visits"


VISITING_DAYS = frozenset({TUESDAY, THURSDAY})


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone; `clock_ahead` is how far its clock runs before the server's."""

    key: str
    owner: str
    name: str
    signal: Signal
    clock_ahead: timedelta = timedelta(0)


def _seconds(n: float) -> timedelta:
    return timedelta(seconds=n)


# The foreman's first phone is the one that comes late; he carries the second while the first one dries.
DROWNED, SPARE = "rogelio-1", "rogelio-2"
PHONES: tuple[Phone, ...] = (
    Phone("ingrid-1", "ingrid", "Ingrid's phone", Signal.OFTEN, _seconds(1)),
    Phone("kofi-1", "kofi", "Kofi's phone", Signal.VISITS, _seconds(-2)),
    Phone(DROWNED, "rogelio", "Rogelio's phone", Signal.BREAKS, _seconds(-7)),
    Phone(SPARE, "rogelio", "Rogelio's spare phone", Signal.BREAKS, _seconds(4)),
    Phone("yesenia-1", "yesenia", "Yesenia's phone", Signal.DEAD_SPOT, _seconds(12)),
    Phone("dmitri-1", "dmitri", "Dmitri's phone", Signal.OFTEN, _seconds(0)),
    Phone("aurelio-1", "aurelio", "Aurelio's phone", Signal.BREAKS, _seconds(-31)),
    Phone("owen-1", "owen", "Owen's phone", Signal.DEAD_SPOT, _seconds(3)),
    Phone("efrain-1", "efrain", "Efraín's phone", Signal.OFTEN, _seconds(-1)),
    Phone("temo-1", "temo", "Temo's phone", Signal.BREAKS, _seconds(8)),
    Phone("priyal-1", "priyal", "Priyal's phone", Signal.DEAD_SPOT, _seconds(2)),
    # Set by hand after a flat battery, and never set right since.
    Phone("tomasz-1", "tomasz", "Tomasz's phone", Signal.BREAKS, timedelta(minutes=40)),
    Phone("leilani-1", "leilani", "Leilani's phone", Signal.BREAKS, _seconds(-5)),
)
BY_PHONE = {phone.key: phone for phone in PHONES}
WORST_DAYS = 0.2


class Airtime:
    """When each phone gets through; what it holds then is received in one batch."""

    def __init__(self, days: JobDays, rng: Random, silent: tuple[str, datetime, datetime]) -> None:
        """`silent` names one phone that is out of order from one moment until another."""
        key, begins, ends = silent
        self._through: dict[str, Sequence[datetime]] = {}
        for phone in PHONES:
            times = _times(phone, days, rng)
            if phone.key == key:
                times = sorted([time for time in times if not begins <= time < ends] + [ends])
            self._through[phone.key] = times

    def receipt(self, phone: str, moment: datetime) -> datetime | None:
        """When a check-in made at `moment` reaches the server; None when it still waits in the phone."""
        times = self._through[phone]
        index = bisect_left(times, moment)
        return times[index] if index < len(times) else None


def _times(phone: Phone, days: JobDays, rng: Random) -> list[datetime]:
    clocks: list[datetime] = []
    marks: tuple[str, ...]
    for day in days.days:
        if phone.signal is Signal.VISITS:
            marks = ("09:02", "10:40", "12:35", "14:02") if day.weekday() in VISITING_DAYS else ()
        elif phone.signal is Signal.OFTEN:
            marks = ("06:45", "07:50", "08:55", "09:40", "11:10", "12:20", "13:30", "14:35", "15:36")
        elif phone.signal is Signal.DEAD_SPOT and rng.random() < WORST_DAYS:
            marks = ("06:36",)
        else:
            marks = ("06:38", "09:20", "11:34", "13:40", "15:34")
        clocks += [days.at(day, mark) + _seconds(rng.randrange(600)) for mark in marks]
    return sorted(clocks)
