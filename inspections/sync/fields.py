"""Single fields of an item as a phone sends them; each reader raises `BadInput` naming the field and the mend."""

import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from sitetrack.kit.moments import EXAMPLE as MOMENT_EXAMPLE
from sitetrack.kit.moments import parse_rfc3339
from sitetrack.kit.problems import BadInput, FieldError

MOST_NAME = 60
MOST_READING = 40
MOST_ENTRIES = 60
MOST_COUNTER = 2**63 - 1
SHOWN = 40
UUID_EXAMPLE = "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11"

_HEX_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE | re.ASCII)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)


def bad_field(field: str, read: Any, expected: str, example: str = "") -> BadInput:
    """The refusal of one field, saying what was read and what would do."""
    shown = _shown(read)
    like = f", such as {example}" if example else ""
    return BadInput(
        f"{field}: {shown} can't be used; expected {expected}{like}.",
        errors=[FieldError(field, "can't be used", read=shown, expected=expected, example=example)],
    )


def read_id(field: str, given: Any) -> UUID:
    """A UUID of version 7 (RFC 9562) in its usual form with hyphens."""
    if isinstance(given, str) and _HEX_ID.fullmatch(given):
        found = UUID(given)
        if found.version == 7:
            return found
    raise bad_field(field, given, "a UUID of version 7", UUID_EXAMPLE)


def read_key(field: str, given: Any, expected: str = "the id of one of your sites") -> UUID:
    """A key that this server gave out, in its usual form with hyphens."""
    if isinstance(given, str) and _HEX_ID.fullmatch(given):
        return UUID(given)
    raise bad_field(field, given, expected, UUID_EXAMPLE)


def read_moment(field: str, given: Any) -> datetime:
    """An RFC 3339 moment with its offset, in UTC."""
    if isinstance(given, str) and (moment := parse_rfc3339(given)):
        return moment
    raise bad_field(field, given, "an RFC 3339 time with Z or its offset", MOMENT_EXAMPLE)


def read_text(field: str, given: Any, *, most: int, least: int = 0) -> str:
    """Text of bounded length, blanks around it dropped; null is empty text."""
    if given is None:
        given = ""
    if isinstance(given, str) and len(given) <= most and len(text := given.strip()) >= least:
        return text
    raise bad_field(field, given, f"text of {f'{least} to' if least else 'at most'} {most} characters")


def read_counter(field: str, given: Any) -> int | None:
    """A phone's own count, from 0 up, or null."""
    if given is None or (isinstance(given, int) and not isinstance(given, bool) and 0 <= given <= MOST_COUNTER):
        return given
    raise bad_field(field, given, "a whole number from 0 up", "41")


def read_readings(field: str, given: Any) -> dict[str, str]:
    """Readings by name, as read; null is a reading not taken. What they measure is judged later, not here."""
    readings = {}
    for name, text in _entries(field, given, "readings by name", '{"width_head": "36 1/16"}'):
        path = f"{field}.{name}"
        if name == "floor_rise" and isinstance(text, list):
            readings[name] = _rises(path, text)
        elif isinstance(text, str) and len(text) <= MOST_READING:
            readings[name] = text
        else:
            raise bad_field(path, text, f"a length as text of at most {MOST_READING} characters", "36 1/16")
    return readings


def read_answers(field: str, given: Any) -> dict[str, bool]:
    """Answers of a checklist by code; null is a question not answered."""
    answers = {}
    for name, answer in _entries(field, given, "answers by code", '{"spreaders_in": true}'):
        if not isinstance(answer, bool):
            raise bad_field(f"{field}.{name}", answer, "true or false")
        answers[name] = answer
    return answers


def read_digests(field: str, given: Any, *, most: int) -> tuple[str, ...]:
    """Photos by the SHA-256 of their bytes, in hex."""
    if given is None:
        return ()
    if not isinstance(given, list) or len(given) > most:
        raise bad_field(field, given, f"a list of at most {most} photos")
    for index, digest in enumerate(given):
        if not (isinstance(digest, str) and _DIGEST.fullmatch(digest)):
            raise bad_field(f"{field}[{index}]", digest, "a SHA-256 as 64 hexadecimal digits in lower case")
    return tuple(dict.fromkeys(given))


def _entries(field: str, given: Any, what: str, example: str) -> Iterator[tuple[str, Any]]:
    if given is None:
        return
    if not isinstance(given, Mapping) or len(given) > MOST_ENTRIES:
        raise bad_field(field, given, f"an object of at most {MOST_ENTRIES} {what}", example)
    for name, value in given.items():
        if not 0 < len(name) <= MOST_NAME:
            raise bad_field(field, name, f"names of 1 to {MOST_NAME} characters", example)
        if value is not None:
            yield name, value


def _rises(path: str, given: list[Any]) -> str:
    """Floor rises as pairs of angle and rise, as the text that the judging reads."""
    if len(given) > MOST_ENTRIES:
        raise bad_field(path, given, f"at most {MOST_ENTRIES} pairs of angle and rise")
    pieces = []
    for index, pair in enumerate(given):
        here = f"{path}[{index}]"
        if not (isinstance(pair, list) and len(pair) == 2 and isinstance(pair[1], str)):
            raise bad_field(here, pair, "an angle in degrees and a rise as text", '[90, "1/4"]')
        angle, rise = pair
        if isinstance(angle, bool) or not isinstance(angle, int | float) or not 0 <= angle <= 180:
            raise bad_field(here, angle, "an angle from 0 to 180 degrees", '[90, "1/4"]')
        if len(rise) > MOST_READING or ";" in rise or ":" in rise:
            raise bad_field(here, rise, f"a length as text of at most {MOST_READING} characters", '[90, "1/4"]')
        pieces.append(f"{angle}: {rise}")
    return "; ".join(pieces)


def _shown(given: Any) -> str:
    if given is None:
        return "nothing"
    if isinstance(given, Mapping):
        return "an object"
    if isinstance(given, list):
        return f"a list of {len(given)}"
    text = str(given).lower() if isinstance(given, bool) else repr(given) if isinstance(given, str) else str(given)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
