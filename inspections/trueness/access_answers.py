"""Whether what was measured of a door makes it accessible, as a calculation: a plain dict in, a plain dict out."""

from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Any

from inspections.standards import access as ada
from inspections.standards.limits import Citation, Limit
from inspections.trueness import access
from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.opening import read_choice
from inspections.trueness.readings import size_length
from inspections.trueness.requests import as_object, optional_length, read_units
from sitetrack.kit.lengths import INCH, ZERO, Length, LengthJson, UnitSystem, length_json

Answer = dict[str, Any]
WIDEST, FARTHEST, HIGHEST, THICKEST = INCH * 120, INCH * 240, INCH * 120, INCH * 12
MOST_FORCE, MOST_SECONDS = 200, 600


class Approach(StrEnum):
    """From where one comes to the door."""

    FRONT = "front"
    HINGE = "hinge"
    LATCH = "latch"


class Side(StrEnum):
    """On which side of the door one comes to it."""

    PULL = "pull"
    PUSH = "push"


def accessible(request: object) -> Answer:
    """Judge what is told of a door, and nothing else.

    Asks for any of: clear_width (depth?), threshold {height, upright?, altered?}, hardware, force in lbf (fire_door?),
    closing in seconds, floor {approach, side, depth, beyond, closer?}.
    """
    asked = as_object(request)
    units = read_units(asked)
    items = [item for name, judge in _JUDGES.items() if asked.get(name) is not None for item in judge(asked, units)]
    if not items:
        raise ReadingError("request", "nothing to judge", "one of " + ", ".join(_JUDGES))
    return {"verdict": "pass" if all(item["passes"] for item in items) else "fail", "items": items}


def _clear_width(asked: Mapping[str, Any], units: UnitSystem) -> Iterator[Answer]:
    clear = size_length("clear_width", asked["clear_width"], least=ZERO, most=WIDEST, units=units)
    depth = optional_length(asked, "depth", ZERO, most=FARTHEST, units=units)
    limit = ada.CLEAR_WIDTH_DEEP if depth > ada.DEEP_OVER.length else ada.CLEAR_WIDTH
    passes = access.clear_width_passes(clear, depth=depth)
    yield _item("clear_width", length_json(clear, units=units), passes, limit.cited(), least=_told(limit, units))


def _threshold(asked: Mapping[str, Any], units: UnitSystem) -> Iterator[Answer]:
    given = _part(asked, "threshold")
    height = _length(given, "threshold", "height", THICKEST, units)
    upright = height if given.get("upright") is None else _length(given, "threshold", "upright", THICKEST, units)
    altered = _flag(given, "altered", "threshold.altered")
    most, upright_most = ada.THRESHOLD_ALTERED if altered else ada.THRESHOLD_HEIGHT, ada.THRESHOLD_UPRIGHT
    passes = access.threshold_passes(height, upright=ZERO, altered=altered)
    yield _item("threshold", length_json(height, units=units), passes, most.cited(), most=_told(most, units))
    yield _item(
        "threshold_upright",
        length_json(upright, units=units),
        access.threshold_passes(ZERO, upright=upright),
        upright_most.cited(),
        most=_told(upright_most, units),
    )


def _hardware(asked: Mapping[str, Any], units: UnitSystem) -> Iterator[Answer]:
    height = size_length("hardware", asked["hardware"], least=ZERO, most=HIGHEST, units=units)
    least, most = ada.HARDWARE_LOWEST, ada.HARDWARE_HIGHEST
    passes = access.hardware_height_passes(height)
    told = length_json(height, units=units)
    yield _item("hardware", told, passes, least.cited(), least=_told(least, units), most=_told(most, units))


def _force(asked: Mapping[str, Any], _: UnitSystem) -> Iterator[Answer]:
    pounds, fire_door = _number(asked, "force", MOST_FORCE), _flag(asked, "fire_door", "fire_door")
    passes = access.opening_force_passes(pounds, fire_door=fire_door)
    # At a fire door the authority sets it, so there is no figure to tell.
    most = None if fire_door else int(ada.OPENING_FORCE.value)
    yield _item("force", pounds, passes, ada.OPENING_FORCE.cited(), most=most)


def _closing(asked: Mapping[str, Any], _: UnitSystem) -> Iterator[Answer]:
    seconds = _number(asked, "closing", MOST_SECONDS)
    least = ada.CLOSER_SECONDS
    yield _item("closing", seconds, access.closing_time_passes(seconds), least.cited(), least=int(least.value))


def _floor(asked: Mapping[str, Any], units: UnitSystem) -> Iterator[Answer]:
    given = _part(asked, "floor")
    approach = read_choice("floor.approach", given.get("approach"), Approach)
    side = read_choice("floor.side", given.get("side"), Side)
    depth = _length(given, "floor", "depth", FARTHEST, units)
    beyond = _length(given, "floor", "beyond", FARTHEST, units)
    closer = _flag(given, "closer", "floor.closer")
    enough = ada.MANEUVERING[approach, side].enough(closer=closer)
    yield _item(
        "floor",
        _place(depth, beyond, units),
        access.maneuvering_passes(approach, side, depth=depth, beyond=beyond, closer=closer),
        ada.MANEUVERING_SOURCE.cited(),
        least=[_place(INCH * deep, INCH * wide, units) for deep, wide in enough],
    )


_JUDGES = {
    "clear_width": _clear_width,
    "threshold": _threshold,
    "hardware": _hardware,
    "force": _force,
    "closing": _closing,
    "floor": _floor,
}


def _item(name: str, value: Any, passes: bool, source: Citation, *, least: Any = None, most: Any = None) -> Answer:
    return {"name": name, "value": value, "least": least, "most": most, "passes": passes, "source": source}


def _told(limit: Limit, units: UnitSystem) -> LengthJson:
    return length_json(limit.length, units=units)


def _place(depth: Length, beyond: Length, units: UnitSystem) -> Answer:
    return {"depth": length_json(depth, units=units), "beyond": length_json(beyond, units=units)}


def _part(asked: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    given = asked[name]
    if not isinstance(given, Mapping):
        raise ReadingError(name, shown(given), "an object")
    return given


def _length(given: Mapping[str, Any], part: str, name: str, most: Length, units: UnitSystem) -> Length:
    return size_length(f"{part}.{name}", given.get(name), least=ZERO, most=most, units=units)


def _flag(given: Mapping[str, Any], name: str, path: str) -> bool:
    value = given.get(name, False)
    if isinstance(value, bool):
        return value
    raise ReadingError(path, shown(value), "true or false")


def _number(given: Mapping[str, Any], name: str, most: int) -> float:
    value = given[name]
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= most:
        return value
    raise ReadingError(name, shown(value), f"a number from 0 to {most}")
