"""The shape a set of readings gives the frame, in exact lengths; what is not read is worked out where it can be.

Signs as in measures.py. Leans are tops off the plumb line over the opening's height.
"""

from collections.abc import Mapping
from fractions import Fraction

from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import Length


def head_out_of_square(lengths: Mapping[str, Length], opening: NominalOpening) -> Length | None:
    """Squareness at the strike head corner: the head's rise plus what the hinge jamb's lean carries over the width.

    head_level + W * hinge_plumb_side / H, rounded to the nanometre; None when either is not read.
    """
    level, lean = lengths.get("head_level"), lengths.get("hinge_plumb_side")
    if level is None or lean is None:
        return None
    return level + carried(lean, opening)


def carried(lean: Length, opening: NominalOpening) -> Length:
    """What a jamb's lean over the height amounts to over the width, W/H of it, to the nanometre."""
    return Length(round(Fraction(lean.nm * opening.width.nm, opening.height.nm)))


def out_of_twist(lengths: Mapping[str, Length]) -> Length | None:
    """Twist in the opening: the strike jamb's face lean less the hinge jamb's; None when either is not read."""
    hinge, strike = lengths.get("hinge_plumb_face"), lengths.get("strike_plumb_face")
    return None if hinge is None or strike is None else strike - hinge
