"""Days as an iCalendar stream (RFC 5545). Pure."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

LONGEST_LINE = 75  # octets, line end not counted (RFC 5545, 3.1)
# Controls that the TEXT of RFC 5545, 3.3.11, may not hold.
CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class Day:
    """An event of a whole day. `key` stays the same while the event is the same; `link` leads to it."""

    key: str
    on: date
    title: str
    notes: str
    link: str


def calendar_lines(name: str, days: Iterable[Day], *, now: datetime) -> Iterator[bytes]:
    """The lines of a calendar, folded and ended as the standard asks."""
    stamp = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield from _lines("BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Sitetrack//Dates//EN", "CALSCALE:GREGORIAN")
    yield from _lines("METHOD:PUBLISH", f"X-WR-CALNAME:{_text(name)}", "REFRESH-INTERVAL;VALUE=DURATION:PT1H")
    for day in days:
        yield from _lines(
            "BEGIN:VEVENT",
            f"UID:{day.key}",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{day.on:%Y%m%d}",
            f"DTEND;VALUE=DATE:{day.on + timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_text(day.title)}",
            f"DESCRIPTION:{_text(day.notes)}",
            f"URL:{day.link}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        )
    yield from _lines("END:VCALENDAR")


def _text(words: str) -> str:
    plain = CONTROLS.sub("\ufffd", words.replace("\r\n", "\n").replace("\r", "\n"))
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _lines(*lines: str) -> Iterator[bytes]:
    for line in lines:
        yield from _folded(line)


def _folded(line: str) -> Iterator[bytes]:
    """A line cut into pieces of at most 75 octets, never inside a character; every piece but the first is indented."""
    piece = b""
    for sign in line:
        octets = sign.encode("utf-8", "replace")
        if len(piece) + len(octets) > LONGEST_LINE:
            yield piece + b"\r\n"
            piece = b" "
        piece += octets
    yield piece + b"\r\n"
