"""Door sizes as the trade writes them in one cell: 3'-0" x 7'-0", 3-0 x 7-0, 3070, PR 3-0 x 7-0, 915 x 2134 mm."""

import re
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from openings.intake.refusals import ReadingError
from sitetrack.kit.length_words import expected_words
from sitetrack.kit.lengths import INCH, Length, LengthError, Unit, parse_length

LONGEST = 80
EXPECTED = _("a width and a height such as 3'-0\" x 7'-0\", 3070 (3'-0\" by 7'-0\") or 915 x 2134")
# A leaf wider than this is not hung; so what is written beside PR is then the whole opening and not one leaf.
WIDEST_LEAF = 48 * INCH

_PAIR_IN_FRONT = re.compile(
    r"^\s*(?:pair|pr|dbl|double|doble|par|\(\s*2\s*\)|2\s*[x@]\s*(?=\d+\s*['-]))\.?(?=[\s\d(])\s*(?:of\s+)?",
    re.IGNORECASE,
)
_PAIR_BEHIND = re.compile(r"[\s,]*\(?\b(?:pair|pr|dbl|double|doble|par)\b\.?\)?\s*$", re.IGNORECASE)
_TIMES = re.compile(r"\s*(?:[x×X*]|\bby\b|\bpor\b)\s*")
_SHORT = re.compile(r"(\d)(\d)(\d)(\d)")
_FEET_DASH_INCHES = re.compile(r"(\d{1,2})-(\d{1,2})(?:[ -](\d{1,2}/\d{1,2}))?")
_UNIT_BEHIND = re.compile(r"(mm|cm|m)\.?\s*$", re.IGNORECASE)
# Some schedules put W and H behind the numbers, some a thickness as third figure: 3'-0" x 7'-0" x 1 3/4".
_LETTER = re.compile(r"\s*(?:\b[wh]\b|(?<=['\"])\s*[wh])\.?\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DoorSize:
    """Width and height of the opening; `leaves` only where the text tells; `note` where it could be read two ways."""

    width: Length
    height: Length
    leaves: int | None = None
    note: str = ""


def parse_door_size(text: str, *, unit: Unit = "in") -> DoorSize:
    """Read a door size; numbers without a mark are in `unit`. Raises ReadingError.

    For a pair the width is that of the whole opening: PR 3-0 x 7-0 is 6'-0" wide with two leaves.
    """
    if len(text) > LONGEST:
        raise ReadingError(text[:LONGEST] + "…", str(EXPECTED), gettext("Keep the size alone in its column."))
    single, is_pair = _without_pair(text)
    sides = _sides(single)
    if sides is None:
        raise ReadingError(text, str(EXPECTED))
    shared = _UNIT_BEHIND.search(sides[1])
    width = side_length(sides[0], unit=_lower_unit(shared) if shared and not _UNIT_BEHIND.search(sides[0]) else unit)
    height = side_length(sides[1], unit=unit)
    if not is_pair:
        return DoorSize(width, height)
    if width > WIDEST_LEAF:
        return DoorSize(width, height, 2, "read as a pair in an opening of this width")
    return DoorSize(width * 2, height, 2, "read as two leaves of this width")


def parse_door_width(text: str, *, unit: Unit = "in") -> tuple[Length, int | None]:
    """Read the width alone, with or without a pair's mark; gives the width of the opening, and 2 for a pair."""
    single, is_pair = _without_pair(text)
    width = side_length(single, unit=unit)
    if not is_pair:
        return width, None
    return (width if width > WIDEST_LEAF else width * 2), 2


def code_in_width(text: str, *, unit: Unit = "in") -> DoorSize | None:
    """The size that a four-figure code such as 3068 tells where it stands in a column of widths, else None.

    Only where figures without a mark are inches or feet: there 3068 is no width, while in millimetres it could be one.
    """
    single, _is_pair = _without_pair(text)
    return parse_door_size(text, unit=unit) if unit in ("in", "ft") and _SHORT.fullmatch(single) else None


def side_length(text: str, *, unit: Unit = "in") -> Length:
    """Read one side of a door: whatever a length may be, and 3-0 for three feet. Raises ReadingError."""
    plain = _LETTER.sub("", text.strip()).strip()
    feet = _FEET_DASH_INCHES.fullmatch(plain)
    if feet and unit in ("in", "ft") and int(feet[2]) < 12:
        plain = f"{feet[1]}'-{feet[2]}" + (f" {feet[3]}" if feet[3] else "") + '"'
    try:
        return parse_length(plain, unit=unit)
    except LengthError as wrong:
        raise ReadingError(wrong.read, expected_words(wrong)) from wrong


def _without_pair(text: str) -> tuple[str, bool]:
    for pattern in (_PAIR_IN_FRONT, _PAIR_BEHIND):
        without, count = pattern.subn("", text.strip(), count=1)
        if count:
            return without, True
    return text.strip(), False


def _sides(text: str) -> tuple[str, str] | None:
    short = _SHORT.fullmatch(text)
    if short:
        return f"{short[1]}'-{short[2]}\"", f"{short[3]}'-{short[4]}\""
    parts = _TIMES.split(text)
    # A third figure is the leaf's thickness, which is not the frame's affair.
    return (parts[0], parts[1]) if len(parts) in (2, 3) and all(parts) else None


def _lower_unit(match: re.Match[str]) -> Unit:
    return match[1].lower()  # type: ignore[return-value]  # the pattern only takes mm, cm and m
