"""A site's tolerance profile: every limit and every rule that may be chosen, in one value that can be stored.

Profiles are versioned by whoever stores them; `to_dict` and `from_dict` carry a form number so that an old profile
is read for what it said when its verdicts were given.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from typing import Any

from inspections.standards import access, clearances, tolerances
from inspections.standards.anchors import ANCHOR_RULE_SETS
from inspections.standards.clearances import DEFAULT_GAP_RULE, GAP_RULES
from inspections.standards.limits import Limit, Mark, inches
from inspections.standards.sources import SITE
from inspections.trueness.errors import ReadingError, at_field, shown
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from sitetrack.kit.lengths import BARE_UNIT, INCH, Length, LengthError, UnitSystem, parse_length_between

FORM = 1
LARGEST_LIMIT = INCH * 60
LONGEST_SOURCE = 200
LONGEST_VALUE = 40

# The four published checks, plumb in both planes at both jambs since the publication does not separate them.
USUAL_REQUIRED = (
    "squareness",
    "alignment",
    "twist",
    "hinge_plumb_side",
    "strike_plumb_side",
    "hinge_plumb_face",
    "strike_plumb_face",
)


@dataclass(frozen=True, slots=True)
class ToleranceProfile:
    """What a check is judged by. Squareness, alignment, twist and plumb are plus or minus; the rest as named."""

    squareness: Limit = tolerances.SQUARENESS
    alignment: Limit = tolerances.ALIGNMENT
    twist: Limit = tolerances.TWIST
    plumb: Limit = tolerances.PLUMB
    width_over: Limit = tolerances.WIDTH_OVER
    width_under: Limit = tolerances.WIDTH_UNDER
    disagreement: Limit = tolerances.DISAGREEMENT
    edge_gap: Limit = clearances.DESIGN_EDGE
    meeting_gap: Limit = clearances.DESIGN_MEETING
    meeting_gap_rated: Limit = clearances.DESIGN_MEETING_RATED
    undercut: Limit = clearances.DESIGN_UNDERCUT
    stop_gap: Limit = clearances.DESIGN_STOP
    clear_width: Limit = access.CLEAR_WIDTH
    gap_rule: str = DEFAULT_GAP_RULE
    anchor_rule_set: str | None = None
    max_swing: int = 90
    required: tuple[str, ...] = USUAL_REQUIRED
    units: UnitSystem = "imperial"

    def to_dict(self) -> dict[str, Any]:
        """Plain types only, ready to store; every limit with its source."""
        stored: dict[str, Any] = {"form": FORM}
        for entry in fields(self):
            value = getattr(self, entry.name)
            if isinstance(value, Limit):
                stored[entry.name] = {"value": str(value.value), "unit": value.unit, "source": value.source,
                                      "edition": value.edition, "mark": value.mark.value}  # fmt: skip
            else:
                stored[entry.name] = list(value) if isinstance(value, tuple) else value
        return stored

    @classmethod
    def from_dict(cls, given: object) -> "ToleranceProfile":
        """Read a stored or a requested profile; what is absent keeps its default. Raises ReadingError.

        A limit may be given as text ("1/8"), then its source is the site's own documents; or as stored.
        """
        if given is None:
            return cls()
        if not isinstance(given, Mapping):
            raise ReadingError("profile", shown(given), 'an object such as {"plumb": "1/16"}')
        if given.get("form", FORM) != FORM:
            raise ReadingError("profile.form", shown(given["form"]), f"{FORM}, the form this release reads")
        units = _units(given.get("units", "imperial"))
        changes: dict[str, Any] = {}
        for name, value in given.items():
            if name == "form":
                continue
            if name in LIMIT_NAMES:
                changes[name] = _limit(f"profile.{name}", value, units)
            elif name in _READERS:
                changes[name] = _READERS[name](value)
            else:
                known = ", ".join((*LIMIT_NAMES, *_READERS))
                raise ReadingError(f"profile.{shown(name)}", shown(value), f"one of the settings {known}")
        return replace(cls(), **changes)


DEFAULT_PROFILE = ToleranceProfile()
LIMIT_NAMES = tuple(
    entry.name for entry in fields(ToleranceProfile) if isinstance(getattr(DEFAULT_PROFILE, entry.name), Limit)
)


def _limit(field: str, given: object, units: UnitSystem) -> Limit:
    if isinstance(given, Mapping):
        unit = given.get("unit", "in")
        source, edition = given.get("source", SITE.name), given.get("edition", "")
        if unit not in ("in", "mm"):
            raise ReadingError(f"{field}.unit", shown(unit), "in or mm")
        if not isinstance(source, str) or not isinstance(edition, str) or len(source) + len(edition) > LONGEST_SOURCE:
            raise ReadingError(f"{field}.source", shown(source), f"text of at most {LONGEST_SOURCE} characters")
        try:
            mark = Mark(given.get("mark", Mark.SITE))
        except ValueError:
            raise ReadingError(f"{field}.mark", shown(given.get("mark")), "one of " + ", ".join(Mark)) from None
        return Limit(_stored_value(f"{field}.value", given.get("value"), unit), unit, source, edition, mark)
    if not isinstance(given, str | int | float):
        raise ReadingError(field, shown(given), 'a limit, such as "1/16"')
    try:
        length = parse_length_between(given, least=Length(1), most=LARGEST_LIMIT, unit=BARE_UNIT[units])
    except LengthError as error:
        raise at_field(field, error) from error
    return inches(length.inches, SITE)


def _stored_value(field: str, given: object, unit: str) -> Fraction:
    # Not a length as a crew writes it: a stored value may be any exact fraction, such as 15/254 in for 1.5 mm.
    try:
        value = Fraction(given) if isinstance(given, str) and len(given) <= LONGEST_VALUE else Fraction(0)
    except (ValueError, ZeroDivisionError):
        value = Fraction(0)
    if not 0 < value <= (LARGEST_LIMIT.inches if unit == "in" else LARGEST_LIMIT.mm):
        raise ReadingError(field, shown(given), f'an exact fraction in {unit} as text, such as "1/16"')
    return value


def _units(given: object) -> UnitSystem:
    if given == "imperial":
        return "imperial"
    if given == "metric":
        return "metric"
    raise ReadingError("profile.units", shown(given), "imperial or metric")


def _required(given: object) -> tuple[str, ...]:
    if not isinstance(given, Sequence) or isinstance(given, str) or len(given) > len(MEASURES) + 1:
        raise ReadingError("profile.required", shown(given), "a list of readings a check must have")
    for name in given:
        if name not in MEASURES and name != FLOOR_RISE:
            raise ReadingError("profile.required", shown(name), "names of readings: " + ", ".join(MEASURES))
    return tuple(dict.fromkeys(given))


def _gap_rule(given: object) -> str:
    if not isinstance(given, str) or given not in GAP_RULES:
        raise ReadingError("profile.gap_rule", shown(given), "one of " + ", ".join(GAP_RULES))
    return given


def _anchor_rule_set(given: object) -> str | None:
    if given is None:
        return None
    if not isinstance(given, str) or given not in ANCHOR_RULE_SETS:
        raise ReadingError("profile.anchor_rule_set", shown(given), "one of " + ", ".join(ANCHOR_RULE_SETS))
    return given


def _max_swing(given: object) -> int:
    if isinstance(given, bool) or not isinstance(given, int) or not 0 <= given <= 180:
        raise ReadingError("profile.max_swing", shown(given), "whole degrees from 0 to 180")
    return given


_READERS: Mapping[str, Any] = {
    "units": _units,
    "required": _required,
    "gap_rule": _gap_rule,
    "anchor_rule_set": _anchor_rule_set,
    "max_swing": _max_swing,
}
