"""Readings as they come, as text, turned to exact lengths; the text itself is kept by whoever stores it.

An empty text or None is a reading not taken. What cannot be read raises ReadingError naming "readings.<name>"; it is
never taken as zero, since a zero deviation is a perfect frame.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from inspections.trueness.errors import ReadingError, at_field, shown
from inspections.trueness.measures import (
    FLOOR_RISE,
    LARGEST_DEVIATION,
    LARGEST_SIZE,
    MEASURES,
    SMALLEST_SIZE,
    Kind,
)
from sitetrack.kit.lengths import BARE_UNIT, Length, LengthError, UnitSystem, parse_length_between

MOST_READINGS = 100
MOST_RISES = 60


@dataclass(frozen=True, slots=True)
class Readings:
    """What was read at one opening: lengths by measure, floor rises as (degrees, rise), and names not known here."""

    lengths: Mapping[str, Length] = field(default_factory=dict)
    floor_rise: tuple[tuple[float, Length], ...] = ()
    unknown: tuple[str, ...] = ()

    def get(self, name: str) -> Length | None:
        """The reading of that measure, or None when it was not taken."""
        return self.lengths.get(name)


def read_readings(texts: Mapping[str, object], *, units: UnitSystem = "imperial") -> Readings:
    """Turn texts into readings; bare numbers are inches, or millimetres where `units` is metric.

    Names this core does not know are listed, not refused, since a newer phone may send them. Raises ReadingError.
    """
    if not isinstance(texts, Mapping):
        raise ReadingError("readings", shown(texts), 'an object such as {"width_head": "36 1/16"}')
    if len(texts) > MOST_READINGS:
        raise ReadingError("readings", f"{len(texts)} readings", f"at most {MOST_READINGS}")
    lengths: dict[str, Length] = {}
    unknown: list[str] = []
    for name, text in texts.items():
        if name in MEASURES:
            if text is not None and text != "":
                lengths[name] = _length(name, text, units)
        elif name != FLOOR_RISE:
            unknown.append(shown(name))
    return Readings(lengths, read_floor_rise(texts.get(FLOOR_RISE), units=units), tuple(unknown))


def read_floor_rise(given: object, *, units: UnitSystem = "imperial") -> tuple[tuple[float, Length], ...]:
    """Turn floor rises under the swing into (degrees, rise) in order of angle.

    Given as [[0, "0"], [90, "1/4"]], as [{"angle": 90, "rise": "1/4"}], or as text "0: 0; 90: 1/4".
    """
    if given is None or given in ("", []):
        return ()
    if isinstance(given, str):
        if len(given) > MOST_RISES * 50:
            raise ReadingError(f"readings.{FLOOR_RISE}", shown(given), f"at most {MOST_RISES} rises")
        rows: Iterable[object] = [piece.split(":", 1) for piece in given.split(";") if piece.strip()]
    elif isinstance(given, Sequence) and len(given) <= MOST_RISES:
        rows = given
    else:
        raise ReadingError(
            f"readings.{FLOOR_RISE}", shown(given), f'a list of at most {MOST_RISES} pairs such as [[90, "1/4"]]'
        )
    rises = [_rise(number, row, units) for number, row in enumerate(rows)]
    rises.sort(key=lambda pair: pair[0])
    angles = [angle for angle, _ in rises]
    if len(set(angles)) != len(angles):
        raise ReadingError(f"readings.{FLOOR_RISE}", "the same angle twice", "each angle once")
    return tuple(rises)


def _length(name: str, text: object, units: UnitSystem) -> Length:
    if not isinstance(text, str | int | float):
        raise ReadingError(f"readings.{name}", shown(text), 'a length as text, such as "36 1/16"')
    try:
        if MEASURES[name].kind is Kind.SIZE:
            return parse_length_between(text, least=SMALLEST_SIZE, most=LARGEST_SIZE, unit=BARE_UNIT[units])
        return parse_length_between(text, least=-LARGEST_DEVIATION, most=LARGEST_DEVIATION, unit=BARE_UNIT[units])
    except LengthError as error:
        raise at_field(f"readings.{name}", error) from error


def _rise(number: int, row: object, units: UnitSystem) -> tuple[float, Length]:
    where = f"readings.{FLOOR_RISE}[{number}]"
    if isinstance(row, Mapping):
        row = (row.get("angle"), row.get("rise"))
    if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != 2:
        raise ReadingError(where, shown(row), 'an angle and a rise, such as [90, "1/4"]')
    angle = _angle(where, row[0])
    text = row[1]
    if isinstance(text, str | int | float):
        try:
            rise = parse_length_between(text, least=-LARGEST_DEVIATION, most=LARGEST_DEVIATION, unit=BARE_UNIT[units])
        except LengthError as error:
            raise at_field(where, error) from error
        return angle, rise
    raise ReadingError(where, shown(text), 'a rise as a length, such as "1/4"')


def _angle(where: str, given: object) -> float:
    try:
        angle = float(given) if isinstance(given, str | int | float) else math.nan
    except (ValueError, OverflowError):
        angle = math.nan
    # NaN fails the comparison and is refused with the rest.
    if not 0 <= angle <= 180:
        raise ReadingError(where, shown(given), "an angle from 0 to 180 degrees")
    return angle


def size_length(field_path: str, given: object, *, least: Length, most: Length, units: UnitSystem) -> Length:
    """Read a size that must be given and lie within bounds; raises ReadingError at `field_path`."""
    if given is None or given == "" or not isinstance(given, str | int | float):
        raise ReadingError(field_path, shown(given), 'a length, such as "3\'-0\\""', "reading-missing")
    try:
        return parse_length_between(given, least=least, most=most, unit=BARE_UNIT[units])
    except LengthError as error:
        raise at_field(field_path, error) from error
