"""A stored forecast as sheet F-12 tells it: days, chances and shares in the reader's words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.models import Floor
from sitetrack.desk.words import word

# What a back-test tried, in the order it is told in.
TRIED: Mapping[str, Any] = {
    "site": gettext_lazy("the whole site"),
    "floor": gettext_lazy("each floor"),
    "proved": gettext_lazy("checks that prove frames, each floor"),
    "trade": gettext_lazy("each trade"),
}


@dataclass(frozen=True, slots=True)
class EndLine:
    """How a part ends: done, or on days that a tenth, half and nine tenths of the runs had ended by, or not to be told.

    A day that is None lies beyond three years. `chance` is of making the day asked about, in words.
    """

    done: bool
    told: bool
    low: date | None
    median: date | None
    high: date | None
    chance: str
    untold: str


@dataclass(frozen=True, slots=True)
class FloorLine:
    """A floor: its day, and when its frames are proved and all its work is finished."""

    floor: Floor
    due_on: date | None
    proved: EndLine
    finished: EndLine


@dataclass(frozen=True, slots=True)
class TriedLine:
    """Of so many forecasts of a kind made for past weeks, how many held what then happened."""

    kind: str
    within: int
    of: int

    @property
    def percent(self) -> int:
        """In whole per cent, rounded down."""
        return self.within * 100 // self.of


def floor_lines(told: Mapping[str, Any], floors: Iterable[Floor]) -> list[FloorLine]:
    """The floors there still are, in the order of walking; a floor made since is not told of."""
    by_key = {each["floor"]: each for each in told["floors"]}
    lines = []
    for floor in floors:
        each = by_key.get(str(floor.pk))
        if each:
            lines.append(FloorLine(floor, _day(each["due_on"]), end_line(each["proved"]), end_line(each["finished"])))
    return lines


def trade_lines(told: Mapping[str, Any]) -> list[tuple[str, EndLine]]:
    """The trades in the order of the plans."""
    return [(word("trade", trade), end_line(end)) for trade, end in told["trades"].items()]


def few_lines(told: Mapping[str, Any]) -> list[tuple[str, int]]:
    """Trades with few weeks behind them, and how many."""
    return [(word("trade", trade), weeks) for trade, weeks in told["few"].items()]


def tried_lines(told: Mapping[str, Any]) -> list[TriedLine]:
    """What the back-test came to, by kind."""
    shares = told["back_test"]["shares"]
    return [TriedLine(str(said), *shares[kind]) for kind, said in TRIED.items() if kind in shares]


def end_line(end: Mapping[str, Any]) -> EndLine:
    """One end as it is stored."""
    spread = end["range"]
    low, median, high = (_day(spread[name]) if spread else None for name in ("low", "median", "high"))
    return EndLine(
        done=end["done"],
        told=spread is not None,
        low=low,
        median=median,
        high=high,
        chance=_chance(spread["chance"]) if spread and spread["chance"] is not None else "",
        untold=", ".join(word("trade", trade) for trade in end["untold"]),
    )


def _chance(share: float) -> str:
    """A chance in whole per cent; runs are too few to tell none from hardly any."""
    if share < 0.01:
        return _("under %(n)d %%") % {"n": 1}
    if share > 0.99:
        return _("over %(n)d %%") % {"n": 99}
    return f"{share * 100:.0f} %"


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
