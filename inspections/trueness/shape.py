"""The shape a set of readings gives the frame, in exact lengths; what is not read is worked out where it can be.

Signs as in measures.py. Leans are tops off the plumb line over the opening's height.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import ZERO, Length

# Readings of the frame itself; the others are taken at a door that hangs already.
SHAPING = frozenset(
    {
        "width_head", "width_mid", "width_floor", "hinge_plumb_side", "strike_plumb_side", "hinge_plumb_face",
        "strike_plumb_face", "head_level", "squareness", "twist", "foot_gap_hinge", "foot_gap_strike",
    }
)  # fmt: skip


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


@dataclass(frozen=True, slots=True)
class FrameShape:
    """A frame as it stands: three widths, the lean of each jamb both ways, squareness and twist.

    `assumed` names what neither a reading nor the other readings tell; it is taken as scheduled or true.
    """

    width_head: Length
    width_mid: Length
    width_floor: Length
    hinge_side: Length
    strike_side: Length
    hinge_face: Length
    strike_face: Length
    squareness: Length
    twist: Length
    assumed: tuple[str, ...]


def frame_shape(lengths: Mapping[str, Length], opening: NominalOpening) -> FrameShape:
    """Work out the whole shape from whatever was read; a reading always stands as it was read.

    Jambs keep their length and are straight, so width_head = width_floor + strike lean - hinge lean, and what is
    missing of those four is worked out from the rest where it can be.
    """
    known = dict(lengths)
    _complete_widths(known)
    squareness = known["squareness"] if "squareness" in known else head_out_of_square(known, opening)
    twist = known["twist"] if "twist" in known else out_of_twist(known)
    assumed = [name for name in ("hinge_plumb_side", "strike_plumb_side") if name not in known]
    assumed += [name for name in ("hinge_plumb_face", "strike_plumb_face") if name not in known]
    if squareness is None:
        assumed.append("squareness")
    if twist is None:
        assumed.append("twist")
    hinge, strike = known.get("hinge_plumb_side", ZERO), known.get("strike_plumb_side", ZERO)
    floor = known.get("width_floor")
    head = known.get("width_head")
    if floor is None:
        floor = opening.width if head is None else head + hinge - strike
        assumed.append("width_floor")
    if head is None:
        head = floor + strike - hinge
        assumed.append("width_head")
    return FrameShape(
        width_head=head,
        width_mid=known.get("width_mid", Length((head.nm + floor.nm) // 2)),
        width_floor=floor,
        hinge_side=hinge,
        strike_side=strike,
        hinge_face=known.get("hinge_plumb_face", ZERO),
        strike_face=known.get("strike_plumb_face", ZERO),
        squareness=squareness or ZERO,
        twist=twist or ZERO,
        assumed=tuple(assumed),
    )


def _complete_widths(known: dict[str, Length]) -> None:
    """Fill in the one of the four that is missing, when the other three are read."""
    head, floor = known.get("width_head"), known.get("width_floor")
    hinge, strike = known.get("hinge_plumb_side"), known.get("strike_plumb_side")
    if head is None and floor is not None and hinge is not None and strike is not None:
        known["width_head"] = floor + strike - hinge
    elif floor is None and head is not None and hinge is not None and strike is not None:
        known["width_floor"] = head + hinge - strike
    elif head is not None and floor is not None and hinge is None and strike is not None:
        known["hinge_plumb_side"] = floor + strike - head
    elif head is not None and floor is not None and strike is None and hinge is not None:
        known["strike_plumb_side"] = head + hinge - floor
