"""The door leaf: measured, or worked out as nominal opening less the design clearances."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inspections.standards.limits import Limit
from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.opening import HIGHEST, LOWEST, NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import size_length
from sitetrack.kit.lengths import INCH, Length, UnitSystem, from_inches

NARROWEST_LEAF, WIDEST_LEAF = INCH * 6, INCH * 120
THINNEST, THICKEST = INCH, INCH * 6
USUAL_THICKNESS = from_inches(Fraction(7, 4))


@dataclass(frozen=True, slots=True)
class Leaf:
    """One leaf; `measured` is False when its size is worked out from the schedule."""

    width: Length
    height: Length
    thickness: Length = USUAL_THICKNESS
    measured: bool = True


def meeting_gap(opening: NominalOpening, profile: ToleranceProfile) -> Limit:
    """The design gap between the leaves of a pair: its own when the opening is rated."""
    return profile.meeting_gap_rated if opening.rated else profile.meeting_gap


def design_leaf(opening: NominalOpening, profile: ToleranceProfile) -> Leaf:
    """Nominal less the design clearances: an edge each side, the head, the undercut; a pair shares the meeting gap."""
    edge = profile.edge_gap.length
    width = opening.width - edge * 2
    if opening.leaves == 2:
        width = Length((width - meeting_gap(opening, profile).length).nm // 2)
    return Leaf(width, opening.height - edge - profile.undercut.length, measured=False)


def read_leaf(
    given: object, opening: NominalOpening, profile: ToleranceProfile, *, units: UnitSystem = "imperial"
) -> Leaf:
    """Read the `leaf` object of a request; what is absent is as designed. Raises ReadingError."""
    design = design_leaf(opening, profile)
    if given is None:
        return design
    if not isinstance(given, Mapping):
        raise ReadingError("leaf", shown(given), 'an object such as {"width": "35 3/4", "height": "83 1/8"}')
    sizes = {}
    for name, least, most, default in (
        ("width", NARROWEST_LEAF, WIDEST_LEAF, design.width),
        ("height", LOWEST, HIGHEST, design.height),
        ("thickness", THINNEST, THICKEST, USUAL_THICKNESS),
    ):
        absent = given.get(name) in (None, "")
        sizes[name] = (
            default if absent else size_length(f"leaf.{name}", given[name], least=least, most=most, units=units)
        )
    return Leaf(measured=given.get("width") not in (None, ""), **sizes)
