"""Clear width with the leaf at 90 degrees: geometry of an ordinary butt hinge. Measure on site; never assume it."""

from inspections.standards.clear_width import LEAF, PIN, REST, STOP
from inspections.trueness.leaf import Leaf
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from sitetrack.kit.lengths import Length


def clear_width(width: Length, *, swing_clear: bool = False) -> Length:
    """Clear width of a single leaf: less the stop, and unless hinges swing the leaf clear, less leaf, pin and rest."""
    less = STOP.length if swing_clear else STOP.length + LEAF.length + PIN.length + REST.length
    return width - less


def clear_width_of_pair(opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile) -> Length:
    """Clear width past one open leaf of a pair, the other closed: to the closed leaf's edge, which has no stop."""
    to_closed_leaf = opening.width - profile.edge_gap.length - leaf.width
    return to_closed_leaf - leaf.thickness - PIN.length - REST.length
