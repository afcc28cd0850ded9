"""Reading requests: plain dicts as they come over the wire, field by field, with the path in every error."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.leaf import Leaf, read_leaf
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from inspections.trueness.opening import NominalOpening, read_opening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings, size_length
from sitetrack.kit.lengths import INCH, ZERO, Length, UnitSystem

MOST_LAYERS = 8


@dataclass(frozen=True, slots=True)
class CheckRequest:
    """What frame-check, door-fit and advice all ask with."""

    opening: NominalOpening
    leaf: Leaf
    readings: Readings
    profile: ToleranceProfile

    @property
    def units(self) -> UnitSystem:
        """The units bare numbers are in and the answer is written in."""
        return self.profile.units


def read_check_request(request: object) -> CheckRequest:
    """Read {"opening", "leaf"?, "readings", "profile"?}; an unknown reading is refused as a slip."""
    asked = as_object(request)
    profile = ToleranceProfile.from_dict(_with_units(asked))
    opening = read_opening(asked.get("opening"), units=profile.units)
    readings = read_readings(_mapping(asked.get("readings", {}), "readings"), units=profile.units)
    if readings.unknown:
        name = readings.unknown[0]
        known = ", ".join((*MEASURES, FLOOR_RISE))
        raise ReadingError(f"readings.{name}", name, f"one of {known}", "reading-unknown")
    return CheckRequest(opening, read_leaf(asked.get("leaf"), opening, profile, units=profile.units), readings, profile)


def as_object(request: object) -> Mapping[str, Any]:
    """Refuse anything but an object."""
    return _mapping(request, "request")


def read_units(asked: Mapping[str, Any]) -> UnitSystem:
    """The units a request is in; imperial unless it says metric."""
    given = asked.get("units", "imperial")
    if given == "imperial":
        return "imperial"
    if given == "metric":
        return "metric"
    raise ReadingError("units", shown(given), "imperial or metric")


def read_layers(asked: Mapping[str, Any], name: str, units: UnitSystem) -> list[Length]:
    """Board layers of one side; absent is none."""
    given = asked.get(name, [])
    if not isinstance(given, Sequence) or isinstance(given, str) or len(given) > MOST_LAYERS:
        raise ReadingError(name, shown(given), f'a list of at most {MOST_LAYERS} board thicknesses such as ["5/8"]')
    return [
        size_length(f"{name}[{number}]", layer, least=INCH // 8, most=INCH * 4, units=units)
        for number, layer in enumerate(given)
    ]


def optional_length(asked: Mapping[str, Any], name: str, default: Length, *, most: Length, units: UnitSystem) -> Length:
    """A length that may be left out; not negative."""
    if asked.get(name) in (None, ""):
        return default
    return size_length(name, asked[name], least=ZERO, most=most, units=units)


def _with_units(asked: Mapping[str, Any]) -> object:
    """A profile without units of its own takes those of the request."""
    profile = asked.get("profile")
    if profile is None or (isinstance(profile, Mapping) and "units" not in profile):
        return {**(profile or {}), "units": read_units(asked)}
    return profile


def _mapping(given: object, field: str) -> Mapping[str, Any]:
    if not isinstance(given, Mapping):
        raise ReadingError(field, shown(given), "an object")
    return given
