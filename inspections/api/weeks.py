"""ISO 8601 weeks as a filter: Monday to Monday on the site's own clock."""

import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sitetrack.kit.problems import BadInput, FieldError

WEEK = re.compile(r"([12][0-9]{3})-W([0-9]{2})", re.ASCII)


def week_bounds(text: str, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """The first moment of a week such as 2026-W09 in a time zone, and that of the week after.

    Raises `BadInput` for a week that a year does not have: ISO 8601 years have 52 weeks, some 53.
    """
    found = WEEK.fullmatch(text)
    try:
        monday = date.fromisocalendar(int(found[1]), int(found[2]), 1) if found else None
    except ValueError:
        monday = None
    if monday is None:
        raise BadInput(
            f"week: {text[:20]!r} is no week; expected an ISO 8601 week such as 2026-W09.",
            errors=[FieldError("week", "no such week", read=text[:20], expected="a year and its week",
                               example="2026-W09")],
        )  # fmt: skip
    # Each midnight by itself: the week in which the clocks change has 167 or 169 hours.
    return _midnight(monday, zone), _midnight(monday + timedelta(weeks=1), zone)


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, tzinfo=zone)
