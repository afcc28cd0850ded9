"""Moments as others send them: RFC 3339 text with its offset."""

import re
from datetime import UTC, datetime, timedelta

EXAMPLE = "2026-03-02T14:05:09Z"
YEARS = range(1970, 2100)

# RFC 3339, 5.6. Python's own reader takes more than that, week dates for one.
_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)[Tt ](\d\d:\d\d):(\d\d)(?:\.(\d+))?([Zz]|[+-]\d\d:\d\d)", re.ASCII)


def parse_rfc3339(text: str) -> datetime | None:
    """The moment in UTC, or None for what is none from 1970 to 2099.

    Finer than a microsecond is cut; a leap second counts as the second after it.
    """
    found = _MOMENT.fullmatch(text)
    if found is None or int(found[1][:4]) not in YEARS:
        return None
    day, minute, second, fraction, offset = found.groups()
    leap = second == "60"
    plain = f"{day}T{minute}:{'59' if leap else second}.{(fraction or '0')[:6]:0<6}{offset.upper()}"
    try:
        return (datetime.fromisoformat(plain) + timedelta(seconds=leap)).astimezone(UTC)
    except ValueError:
        return None
