"""What a cell means: one reader for each kind of value a schedule holds.

A reader takes the cell as it came and gives the value, or None for "not told", or raises ReadingError with what was
expected and the mend. Unknown is not none: a dash, n/a and a blank are all "not told", and only words that say so are
a "no" or a "not rated".
"""

import re
import unicodedata
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from typing import Any, TypeVar

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake.door_sizes import DoorSize, code_in_width, parse_door_size, parse_door_width, side_length
from openings.intake.limits import CELL_CHARACTERS
from openings.intake.refusals import ReadingError
from openings.intake.tables import Cell, Unusable, text_of
from openings.selectors.facts import NO_NUMBER, no_number_words
from sitetrack.kit.lengths import INCH, ZERO, Length, LengthError, Unit, format_length, parse_length

T = TypeVar("T")

NOT_TOLD = {"", "-", "--", "---", "–", "—", "n/a", "na", "n.a.", "tbd", "t.b.d.", "?", "null", "#n/a", "por definir"}
# An exporter without a value often writes the parameter's own name in its place.
PLACEHOLDER = re.compile(r"(?:--\w+--|(?:.*:\s*)?fire ?rating|(?:.*:\s*)?mark)", re.IGNORECASE)

UNIT_WORDS: Mapping[Unit, Any] = {
    "in": gettext_lazy("inches"),
    "ft": gettext_lazy("feet"),
    "mm": gettext_lazy("millimeters"),
    "cm": gettext_lazy("centimeters"),
    "m": gettext_lazy("meters"),
}
SMALLEST_SIDE, LARGEST_SIDE = 12 * INCH, 480 * INCH
LARGEST_DEPTH = 48 * INCH

HANDS = {
    "lh": "LH", "rh": "RH", "lhr": "LHR", "rhr": "RHR", "lhrb": "LHR", "rhrb": "RHR",
    "lha": "LH", "rha": "RH", "lhra": "LHR", "rhra": "RHR",
    "left hand": "LH", "right hand": "RH", "left hand reverse": "LHR", "right hand reverse": "RHR",
    "left reverse": "LHR", "right reverse": "RHR",
    "mano izquierda": "LH", "mano derecha": "RH", "mano izquierda inversa": "LHR", "mano derecha inversa": "RHR",
}  # fmt: skip
YES = {"y", "yes", "x", "✓", "✔", "true", "t", "1", "si", "s", "el", "elec", "electric", "electrified", "electrificada",
       "electrificado", "ept", "es", "cr", "card reader", "maglock", "•"}  # fmt: skip
NO = {"n", "no", "none", "false", "f", "0", "not electrified", "ninguno", "ninguna", "sin"}
CONSTRUCTIONS = {
    "welded": "welded", "w": "welded", "wld": "welded", "fully welded": "welded", "full welded": "welded",
    "face welded": "welded", "set up welded": "welded", "set up and welded": "welded", "suw": "welded",
    "soldado": "welded", "soldada": "welded",
    "kd": "knocked_down", "k d": "knocked_down", "knocked down": "knocked_down", "knock down": "knocked_down",
    "knockdown": "knocked_down", "drywall": "knocked_down", "drywall slip on": "knocked_down",
    "slip on": "knocked_down", "desarmado": "knocked_down", "desarmada": "knocked_down",
}  # fmt: skip
LEAVES = {"1": 1, "single": 1, "sgl": 1, "s": 1, "one": 1, "sencilla": 1, "simple": 1, "una": 1,
          "2": 2, "pair": 2, "pr": 2, "double": 2, "dbl": 2, "two": 2, "doble": 2, "par": 2, "dos": 2}  # fmt: skip
SIZE_IS = {"opening": "opening", "nominal": "opening", "nominal opening": "opening", "vano": "opening",
           "frame": "frame", "frame out to out": "frame", "marco": "frame",
           "leaf": "leaf", "door leaf": "leaf", "door": "leaf", "hoja": "leaf"}  # fmt: skip
SIDES = {"left": "left", "l": "left", "izquierda": "left", "right": "right", "r": "right", "derecha": "right"}
WALL_KINDS = {"steel stud": "steel_stud", "metal stud": "steel_stud", "stud": "steel_stud",
              "wood stud": "wood_stud", "masonry": "masonry", "cmu": "masonry",
              "mamposteria": "masonry", "existing": "existing", "existing wall": "existing"}  # fmt: skip
BARE_FLOOR = {"none", "sealed concrete", "concrete", "polished concrete", "exposed concrete", "conc",
              "sc", "slc", "bare", "concreto sellado", "concreto", "ninguno"}  # fmt: skip


# Schedules repeat the same few words row after row.
@lru_cache(maxsize=4096)
def plain_words(text: str) -> str:
    """The text in small letters without accents or punctuation, words parted by single blanks; Mat'l is one word."""
    flat = re.sub(r"(?<=[a-z])['’](?=[a-z])", "", unicodedata.normalize("NFKD", text.casefold()))
    return " ".join(re.sub(r"[^\w✓✔•]+", " ", "".join(c for c in flat if not unicodedata.combining(c))).split())


def told(cell: Cell) -> str | None:
    """What the cell shows, or None where it does not tell; raises ReadingError for a cell that can't be used."""
    if isinstance(cell, Unusable):
        raise ReadingError(cell.read, cell.expected, cell.mend)
    text = text_of(cell)
    if len(text) > CELL_CHARACTERS:
        raise ReadingError(text[:40] + "…", _at_most(CELL_CHARACTERS), _("Shorten it."))
    return None if text.casefold() in NOT_TOLD or PLACEHOLDER.fullmatch(text) else text


def short_text(cell: Cell, most: int) -> str | None:
    """A text of at most `most` characters."""
    text = told(cell)
    if text is not None and len(text) > most:
        raise ReadingError(text[:40] + "…", _at_most(most), _("Shorten it; the rest can go to the remarks."))
    return text


def _at_most(characters: int) -> str:
    return _("at most %(n)d characters") % {"n": characters}


def opening_number(cell: Cell, most: int) -> str | None:
    """An opening number as it stands on the frame's tag; a spreadsheet's own date is refused, since 1-10 became one."""
    if isinstance(cell, date | datetime | time | timedelta):
        raise ReadingError(
            text_of(cell),
            _("an opening number such as 101A"),
            _("The spreadsheet program took a number like 1-10 for a date: format the column as text, type it again."),
        )
    text = short_text(cell, most)
    if text is not None and NO_NUMBER.search(text):
        raise ReadingError(text, _("an opening number such as 101A"), no_number_words())
    return text


def side(cell: Cell, unit: Unit) -> Length | None:
    """Width or height of an opening."""
    return _between(cell, unit, SMALLEST_SIDE, LARGEST_SIDE)


def width_code(cell: Cell, unit: Unit) -> DoorSize | None:
    """Width and height where a column of widths holds a size code such as 3068."""
    text = told(cell)
    return _within_size(text, code_in_width(text, unit=unit), unit) if text is not None else None


def opening_width(cell: Cell, unit: Unit) -> tuple[Length | None, int | None]:
    """Width of an opening, and 2 leaves where the cell marks a pair."""
    text = told(cell)
    if text is None:
        return None, None
    width, leaf_count = _width(text, unit)
    return _within(text, width, unit, SMALLEST_SIDE, LARGEST_SIDE), leaf_count


def door_size(cell: Cell, unit: Unit) -> DoorSize | None:
    """Width and height written in one cell."""
    text = told(cell)
    if text is None:
        return None
    return _within_size(text, _size(text, unit), unit)


def depth(cell: Cell, unit: Unit) -> Length | None:
    """A depth across the wall, or another small positive length."""
    return _between(cell, unit, Length(1), LARGEST_DEPTH)


def layer(cell: Cell, unit: Unit) -> Length | None:
    """Thickness of a layer; nothing at all is a thickness too."""
    return _between(cell, unit, ZERO, LARGEST_DEPTH)


def hand(cell: Cell) -> str | None:
    """Hand of a door: LH, RH, LHR or RHR, seen from the key side."""
    mend = _("For a pair write the hand of the active leaf. Leave it blank where it is not known.")
    return _one_of(cell, HANDS, _("LH, RH, LHR or RHR"), mend)


def is_pair(cell: Cell) -> bool:
    """Whether the cell says that there are two leaves."""
    text = told(cell)
    return text is not None and LEAVES.get(plain_words(text)) == 2


def hinge_side(cell: Cell) -> str | None:
    """Which side the hinges are on, seen from the push side."""
    return _one_of(cell, SIDES, _("left or right, seen from the push side"))


def yes_or_no(cell: Cell) -> bool | None:
    """A yes or a no."""
    text = told(cell)
    if text is None:
        return None
    word = plain_words(text)
    if word in YES or word in NO:
        return word in YES
    raise ReadingError(text, _("yes or no"), _("Write Y or N, or leave it blank where it is not known."))


def construction(cell: Cell) -> str | None:
    """How the frame comes: welded or knocked down."""
    return _one_of(cell, CONSTRUCTIONS, _("welded or knocked down (KD)"))


def leaves(cell: Cell) -> int | None:
    """Number of leaves."""
    return _one_of(cell, LEAVES, _("1 or 2 leaves: single or pair"))


def size_is(cell: Cell) -> str | None:
    """What the size in the schedule measures."""
    return _one_of(cell, SIZE_IS, _("opening, frame or leaf"))


def wall_kind(cell: Cell) -> str | None:
    """Kind of wall."""
    return _one_of(cell, WALL_KINDS, _("steel_stud, wood_stud, masonry or existing"))


def coordinate(cell: Cell) -> float | None:
    """Metres along the plan, to the millimetre."""
    text = told(cell)
    if text is None:
        return None
    try:
        metres = float(text)
    except ValueError:
        metres = float("nan")
    if not abs(metres) < 100_000:
        raise ReadingError(text, _("meters along the plan, such as 12.5")) from None
    return round(metres, 3)


def covering_thickness(text: str) -> Length | None:
    """Thickness of a floor covering where its text tells: 3/4" tile is 3/4 in, sealed concrete is nothing."""
    if plain_words(text) in BARE_FLOOR:
        return ZERO
    found = re.match(r"\s*(\d[\d\s/.-]*(?:\"|″|”|\bin\b\.?|mm\b|cm\b))", text, re.IGNORECASE)
    if found is None:
        return None
    try:
        return parse_length(found[1])
    except LengthError:
        return None


def _between(cell: Cell, unit: Unit, least: Length, most: Length) -> Length | None:
    text = told(cell)
    if text is None:
        return None
    if isinstance(cell, date | datetime | time | timedelta):
        raise ReadingError(
            text, _("a length such as 3'-0\""), _("The spreadsheet program made a date of it: type it as text.")
        )
    return _within(text, _length(text, unit), unit, least, most)


def _within_size(text: str, size: DoorSize | None, unit: Unit) -> DoorSize | None:
    for length in (size.width, size.height) if size else ():
        _within(text, length, unit, SMALLEST_SIDE, LARGEST_SIDE)
    return size


def _within(text: str, length: Length, unit: Unit, least: Length, most: Length) -> Length:
    if not least <= length <= most:
        low, high = (format_length(end, units="imperial", feet=True) for end in (least, most))
        low_mm, high_mm = (format_length(end, units="metric") for end in (least, most))
        raise ReadingError(
            text,
            (_("from %(low)s to %(high)s") if least > Length(1) else _("more than 0, up to %(high)s"))
            % {"low": f"{low} ({low_mm})", "high": f"{high} ({high_mm})"},
            _("A number without a mark is read in %(unit)s here; choose another unit if the column is in another.")
            % {"unit": UNIT_WORDS[unit]},
        )
    return length


# A schedule writes the same few sizes thousands of times.
@lru_cache(maxsize=4096)
def _length(text: str, unit: Unit) -> Length:
    return side_length(text, unit=unit)


@lru_cache(maxsize=4096)
def _width(text: str, unit: Unit) -> tuple[Length, int | None]:
    return parse_door_width(text, unit=unit)


@lru_cache(maxsize=4096)
def _size(text: str, unit: Unit) -> DoorSize:
    return parse_door_size(text, unit=unit)


def _one_of(cell: Cell, words: Mapping[str, T], expected: str, mend: str = "") -> T | None:
    text = told(cell)
    if text is None:
        return None
    plain = plain_words(text).replace("_", " ")
    # L.H.R. is LHR.
    found = words.get(plain) or words.get(plain.replace(" ", ""))
    if found is None:
        raise ReadingError(text, expected, mend)
    return found
