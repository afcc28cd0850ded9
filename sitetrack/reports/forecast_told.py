"""A forecast as it is stored: plain JSON, so that it is read without working anything out again.

    {"weeks": 5, "least_weeks": 4, "runs": 2000, "seed": 1234, "few": {"painter": 2}, "ends_on": "2026-06-30",
     "site": END, "trades": {"framing": END}, "floors": [{"floor": key, "due_on": "2026-05-01", "proved": END,
     "finished": END, "trades": {"framing": END}}], "bands": [{"of": "site", "key": "", "points":
     [["2026-03-08", 120.0, 140.0, 155.0]]}], "back_test": {"stood": 3, "shares": {"site": [5, 6]}}}

    END: {"done": false, "range": {"low": day, "median": day, "high": day, "chance": 0.4}, "untold": []}

Weight is without a unit; a day is null where it lies beyond three years. `chance` is null where no day was asked about.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from inspections.forecast.back_test import Tried
from inspections.forecast.outlook import LEAST_WEEKS, End, FloorOutlook, Outlook

Told = dict[str, Any]


def told_of(outlook: Outlook, due: Mapping[str, date | None], ends: date | None, tried: Iterable[Tried]) -> Told:
    """An outlook and its back-test as they are stored."""
    return {
        **nothing_told(outlook.weeks, outlook.runs, outlook.seed),
        "few": dict(outlook.few),
        "ends_on": _day(ends),
        "site": _end(outlook.site) if outlook.site else None,
        "trades": _ends(outlook.trades),
        "floors": [_floor(floor, due.get(floor.floor)) for floor in outlook.floors],
        "bands": [
            {"of": of, "key": key, "points": [[_day(p.on), p.low, p.median, p.high] for p in points]}
            for (of, key), points in outlook.bands.items()
        ],
        "back_test": _back_test(tried),
    }


def nothing_told(weeks: int, runs: int, seed: int) -> Told:
    """What is stored of a site where nothing was done yet."""
    return {
        "weeks": weeks, "least_weeks": LEAST_WEEKS, "runs": runs, "seed": seed, "few": {}, "ends_on": None,
        "site": None, "trades": {}, "floors": [], "bands": [], "back_test": _back_test([]),
    }  # fmt: skip


def _floor(floor: FloorOutlook, due: date | None) -> Told:
    return {
        "floor": floor.floor,
        "due_on": _day(due),
        "proved": _end(floor.proved),
        "finished": _end(floor.finished),
        "trades": _ends(floor.trades),
    }


def _ends(ends: Mapping[str, End]) -> Told:
    return {trade: _end(end) for trade, end in ends.items()}


def _end(end: End) -> Told:
    told = end.range
    spread = told and {
        "low": _day(told.low),
        "median": _day(told.median),
        "high": _day(told.high),
        "chance": told.chance,
    }
    return {"done": end.done, "range": spread, "untold": list(end.untold)}


def _back_test(tried: Iterable[Tried]) -> Told:
    within: Counter[str] = Counter()
    of: Counter[str] = Counter()
    stood = set()
    for one in tried:
        stood.add(one.stood_on)
        within[one.of] += one.within
        of[one.of] += 1
    return {"stood": len(stood), "shares": {name: [within[name], of[name]] for name in sorted(of)}}


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None
