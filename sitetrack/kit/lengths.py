"""Exact lengths: read as a crew writes them, kept without rounding, shown in the site's units.

A length is a whole number of nanometres. One inch is 25,400,000 nm by definition (international yard, 1959), so both
1/64 in (396,875 nm) and 0.0001 mm (100 nm) are whole and no fraction a tape can show is ever rounded.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal, TypedDict

Unit = Literal["in", "ft", "mm", "cm", "m"]
UnitSystem = Literal["imperial", "metric"]

NM_PER_INCH = 25_400_000
NM_PER_MM = 1_000_000
_NM_PER_UNIT: dict[str, int] = {
    "in": NM_PER_INCH,
    "ft": 12 * NM_PER_INCH,
    "mm": NM_PER_MM,
    "cm": 10 * NM_PER_MM,
    "m": 1000 * NM_PER_MM,
}

# What a bare number means on a site that works in those units.
BARE_UNIT: dict[UnitSystem, Unit] = {"imperial": "in", "metric": "mm"}

LONGEST_TEXT = 40
LONGEST_NM = 1000 * _NM_PER_UNIT["m"]
EXAMPLES = '36 1/16", 3\'-0 1/16", 36.0625 or 917 mm'


class LengthError(ValueError):
    """A length could not be used; says what was read, what was expected and carries a stable code.

    Codes: length-unreadable, length-too-long-text, length-out-of-range, length-not-positive.
    """

    def __init__(self, read: str, template: str, code: str, **values: object) -> None:
        """Keep the pieces apart: a caller puts the field's name in front, and says `template` in another language."""
        self.read = read
        self.template = template
        self.values = values
        self.expected = expected = template % values
        self.code = code
        super().__init__(f"{read!r} cannot be used as a length here: expected {expected}.")


@dataclass(frozen=True, slots=True, order=True)
class Length:
    """An exact length in whole nanometres; may be negative, since a deviation has a side."""

    nm: int

    @property
    def inches(self) -> Fraction:
        """Exact inches."""
        return Fraction(self.nm, NM_PER_INCH)

    @property
    def mm(self) -> Fraction:
        """Exact millimetres."""
        return Fraction(self.nm, NM_PER_MM)

    def __add__(self, other: "Length") -> "Length":
        return Length(self.nm + other.nm)

    def __sub__(self, other: "Length") -> "Length":
        return Length(self.nm - other.nm)

    def __neg__(self) -> "Length":
        return Length(-self.nm)

    def __abs__(self) -> "Length":
        return Length(abs(self.nm))

    def __mul__(self, times: int) -> "Length":
        return Length(self.nm * times)

    __rmul__ = __mul__

    def __floordiv__(self, parts: int) -> "Length":
        return Length(self.nm // parts)

    def __bool__(self) -> bool:
        return self.nm != 0


ZERO = Length(0)
INCH = Length(NM_PER_INCH)
MM = Length(NM_PER_MM)


def from_inches(value: Fraction | float) -> Length:
    """Turn a finite number of inches into a length, rounding half to even at the nanometre."""
    return Length(round(Fraction(value) * NM_PER_INCH))


def from_mm(value: Fraction | float) -> Length:
    """Turn a finite number of millimetres into a length, rounding half to even at the nanometre."""
    return Length(round(Fraction(value) * NM_PER_MM))


_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_PLAIN_MARKS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "⁄": "/", "\u00a0": " "}
)

_NUMBER = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_METRIC = re.compile(rf"({_NUMBER})\s*(mm|cm|m)")
_IMPERIAL = re.compile(
    rf"""(?: (?P<feet>{_NUMBER}) \s* (?: ' (?!') | ft\.? | feet | foot ) \s* (?P<dash>-?) \s* )?
         (?: (?: (?P<decimal>{_NUMBER}) (?: (?: \s+ | - ) (?P<mixed>[0-9]+/[0-9]+) )? | (?P<alone>[0-9]+/[0-9]+) )
             \s* (?P<mark> " | '' | in\.? | inch | inches )? )?""",
    re.VERBOSE,
)


def parse_length(text: str | float, *, unit: Unit = "in") -> Length:
    """Read a length as written on a job: feet and inches, inches with fractions or decimals, mm, cm or m.

    A bare number is in `unit`; a bare fraction is refused where `unit` is metric, since only inches are written so.
    A sign in front belongs to the whole length. Values finer than a nanometre round half to even.
    Raises LengthError.
    """
    return _read(text, unit) if isinstance(text, str) else _number(text, unit)


# A tape shows 32nds, so a job's readings are the same few hundred texts over and over.
@lru_cache(maxsize=4096)
def _read(text: str, unit: Unit) -> Length:
    plain = _plain_text(text)
    body = plain[1:].lstrip() if plain[0] in "-+" else plain
    nm = _magnitude(body, unit, plain)
    if nm > LONGEST_NM:
        raise LengthError(_shown(plain), "a length of at most 1000 m", "length-out-of-range")
    return Length(-nm if plain[0] == "-" else nm)


def parse_length_between(text: str | float, *, least: Length, most: Length, unit: Unit = "in") -> Length:
    """Read a length that must lie from `least` to `most`, both allowed; raises LengthError outside.

    Zero and negative values (length-not-positive) are told apart from values out of range, since the mend differs.
    """
    length = parse_length(text, unit=unit)
    if least.nm > 0 and length.nm <= 0:
        expected = "more than zero, such as %(examples)s"
        raise LengthError(_shown(str(text)), expected, "length-not-positive", examples=EXAMPLES)
    if not least.nm <= length.nm <= most.nm:
        low, high = (format_length(end, units="imperial") for end in (least, most))
        low_mm, high_mm = (format_length(end, units="metric") for end in (least, most))
        ends = {"low": low, "high": high, "low_mm": low_mm, "high_mm": high_mm}
        expected = "from %(low)s to %(high)s (%(low_mm)s to %(high_mm)s)"
        raise LengthError(_shown(str(text)), expected, "length-out-of-range", **ends)
    return length


def format_length(length: Length, *, units: UnitSystem, denominator: int = 32, feet: bool = False) -> str:
    """Write a length in the site's units: 36 1/16" or, with `feet`, 3'-0 1/16"; 917 mm or 1.6 mm.

    Rounds half away from zero, to 1/`denominator` in (reduced) or to 0.1 mm, so that a deviation never reads smaller
    in one direction than in the other. With denominator=64 what a tape can show survives writing and reading back.
    """
    if units == "metric":
        tenths = _round_half_away(abs(length.nm), NM_PER_MM // 10)
        sign = "-" if length.nm < 0 and tenths else ""
        whole, rest = divmod(tenths, 10)
        return f"{sign}{whole}.{rest} mm" if rest else f"{sign}{whole} mm"
    parts = _round_half_away(abs(length.nm) * denominator, NM_PER_INCH)
    sign = "-" if length.nm < 0 and parts else ""
    inches, rest = divmod(parts, denominator)
    if not feet:
        return f'{sign}{_mixed(inches, rest, denominator)}"'
    whole_feet, inches = divmod(inches, 12)
    shown = f"{inches} {Fraction(rest, denominator)}" if rest else str(inches)
    return f"{sign}{whole_feet}'-{shown}\""


class LengthJson(TypedDict("Inch", {"in": float})):
    """A length in an answer: as text in the site's units, and as numbers in both."""

    text: str
    mm: float


def length_json(length: Length, *, units: UnitSystem = "imperial", denominator: int = 32) -> LengthJson:
    """Give a length the shape it has in every answer; the numbers are the nearest doubles to the exact value."""
    text, inches, mm = _told(length.nm, units, denominator)
    return {"text": text, "in": inches, "mm": mm}


@lru_cache(maxsize=8192)
def _told(nm: int, units: UnitSystem, denominator: int) -> tuple[str, float, float]:
    text = format_length(Length(nm), units=units, denominator=denominator)
    return text, _nearest(nm, NM_PER_INCH), _nearest(nm, NM_PER_MM)


def _nearest(nm: int, per_unit: int) -> float:
    # A whole number as such: canonical JSON writes it without a point, and then nobody has to.
    whole, rest = divmod(nm, per_unit)
    return nm / per_unit if rest else whole


def _plain_text(text: str) -> str:
    # The cap comes before any other work: ten megabytes of digits must cost nothing.
    if len(text) > LONGEST_TEXT:
        expected = "at most %(most)d characters, such as %(examples)s"
        raise LengthError(_shown(text), expected, "length-too-long-text", most=LONGEST_TEXT, examples=EXAMPLES)
    plain = text.translate(_PLAIN_MARKS).strip().lower()
    for sign, written in _VULGAR.items():
        if sign in plain:
            plain = plain.replace(sign, f" {written}").replace("- ", "-").strip()
    if not plain:
        raise LengthError(text, "a length such as %(examples)s", "length-unreadable", examples=EXAMPLES)
    return plain


def _number(number: float, unit: Unit) -> Length:
    if isinstance(number, bool) or not isinstance(number, int | float):
        expected = "text or a number such as %(examples)s"
        raise LengthError(type(number).__name__, expected, "length-unreadable", examples=EXAMPLES)
    # Compared before it is written out: Python refuses to print integers of more than 4,300 digits, and NaN fails here.
    per_unit = _NM_PER_UNIT[unit]
    if not -LONGEST_NM // per_unit <= number <= LONGEST_NM // per_unit:
        read = "a very large number" if isinstance(number, int) else repr(number)
        raise LengthError(read, "a finite length of at most 1000 m", "length-out-of-range")
    # The digits as written, not the binary neighbour: 0.1 means one tenth.
    return Length(round(Fraction(str(number)) * per_unit))


def _magnitude(body: str, unit: Unit, read: str) -> int:
    metric = _METRIC.fullmatch(body)
    if metric:
        return round(Fraction(metric[1].rstrip(".")) * _NM_PER_UNIT[metric[2]])
    found = _IMPERIAL.fullmatch(body) if body else None
    if found is None:
        expected = "one length in one kind of unit, such as %(examples)s"
        raise LengthError(_shown(read), expected, "length-unreadable", examples=EXAMPLES)
    decimal, fraction = found["decimal"], found["mixed"] or found["alone"]
    if found["feet"] is None and found["mark"] is None and unit not in ("in", "ft") and fraction is not None:
        raise LengthError(_shown(read), 'an inch mark after a fraction, such as 36 1/16"', "length-unreadable")
    if "." in (decimal or "") and fraction is not None:
        raise LengthError(_shown(read), "a decimal or a fraction, not both", "length-unreadable")
    amount = Fraction((decimal or "0").rstrip(".")) + _fraction(fraction, read, proper=decimal is not None)
    if found["feet"] is None:
        return round(amount * _NM_PER_UNIT["in" if found["mark"] else unit])
    return round(_feet_and_inches(found, amount, read) * NM_PER_INCH)


def _feet_and_inches(found: "re.Match[str]", inches: Fraction, read: str) -> Fraction:
    has_inches = found["decimal"] is not None or found["alone"] is not None
    if found["dash"] and not has_inches:
        raise LengthError(_shown(read), "inches after the dash, such as 3'-0\"", "length-unreadable")
    if has_inches and "." in found["feet"]:
        raise LengthError(_shown(read), "whole feet beside inches, such as 3'-6\"", "length-unreadable")
    if inches >= 12:
        raise LengthError(_shown(read), "less than 12 inches beside feet, such as 3'-11 1/2\"", "length-unreadable")
    return Fraction(found["feet"].rstrip(".")) * 12 + inches


def _fraction(text: str | None, read: str, *, proper: bool) -> Fraction:
    if text is None:
        return Fraction(0)
    over, under = (int(part) for part in text.split("/"))
    if under not in (2, 4, 8, 16, 32, 64):
        raise LengthError(
            _shown(read), "a fraction in halves, quarters, 8ths, 16ths, 32nds or 64ths", "length-unreadable"
        )
    if proper and over >= under:
        raise LengthError(_shown(read), "a fraction of less than one inch beside whole inches", "length-unreadable")
    return Fraction(over, under)


def _mixed(whole: int, rest: int, denominator: int) -> str:
    if not rest:
        return str(whole)
    return f"{whole} {Fraction(rest, denominator)}" if whole else str(Fraction(rest, denominator))


def _round_half_away(amount: int, step: int) -> int:
    return (2 * amount + step) // (2 * step)


def _shown(read: str) -> str:
    return read if len(read) <= LONGEST_TEXT else read[:LONGEST_TEXT] + "…"
