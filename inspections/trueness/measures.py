"""The measures a frame is read by: their names, what each is, and which way is positive.

Look from the side where the frame is read. x runs from hinge jamb to strike jamb in the wall plane, y up, z across the
wall toward the pull side. So nothing here depends on the hand; only words such as left and right do.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from sitetrack.kit.lengths import INCH, Length


class Kind(StrEnum):
    """A size is a distance and so positive; a deviation has a side and may be zero or negative."""

    SIZE = "size"
    DEVIATION = "deviation"


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its name in the API, its kind, and how it is taken, in English and Spanish."""

    name: str
    kind: Kind
    en: str
    es: str


_TABLE = (
    Measure("width_head", Kind.SIZE, "width at the head, rabbet to rabbet", "ancho en el cabezal, de rebajo a rebajo"),
    Measure("width_mid", Kind.SIZE, "width at mid height", "ancho a media altura"),
    Measure("width_floor", Kind.SIZE, "width at the floor", "ancho al piso"),
    Measure(
        "diagonal_hinge_foot",
        Kind.SIZE,
        "diagonal from the hinge foot to the strike head corner",
        "diagonal del pie de bisagras a la esquina superior de contra",
    ),
    Measure(
        "diagonal_strike_foot",
        Kind.SIZE,
        "diagonal from the strike foot to the hinge head corner",
        "diagonal del pie de contra a la esquina superior de bisagras",
    ),
    Measure(
        "hinge_plumb_side",
        Kind.DEVIATION,
        "hinge jamb plumb in the wall: top off the plumb line through its foot, + toward the strike",
        "plomo de la jamba de bisagras en el muro: arriba respecto al pie, + hacia la contra",
    ),
    Measure(
        "strike_plumb_side",
        Kind.DEVIATION,
        "strike jamb plumb in the wall: top off the plumb line through its foot, + away from the hinges",
        "plomo de la jamba de contra en el muro: arriba respecto al pie, + lejos de las bisagras",
    ),
    Measure(
        "hinge_plumb_face",
        Kind.DEVIATION,
        "hinge jamb plumb across the wall: top off the plumb line, + toward the pull side",
        "plomo de la jamba de bisagras a través del muro: + hacia el lado de jalar",
    ),
    Measure(
        "strike_plumb_face",
        Kind.DEVIATION,
        "strike jamb plumb across the wall: top off the plumb line, + toward the pull side",
        "plomo de la jamba de contra a través del muro: + hacia el lado de jalar",
    ),
    Measure(
        "head_level",
        Kind.DEVIATION,
        "head level: strike end above the hinge end is +",
        "nivel del cabezal: + si el extremo de contra está más alto",
    ),
    Measure(
        "squareness",
        Kind.DEVIATION,
        "squareness: head off a line at 90 degrees to the hinge jamb, at the strike end, + above",
        "escuadra: cabezal respecto a una línea a 90 grados de la jamba de bisagras, + arriba",
    ),
    Measure(
        "alignment",
        Kind.DEVIATION,
        "alignment: strike jamb ahead of the hinge jamb toward the pull side is +",
        "alineación: + si la jamba de contra está adelantada hacia el lado de jalar",
    ),
    Measure(
        "twist",
        Kind.DEVIATION,
        "twist: strike jamb turned against the hinge jamb, + when its top is toward the pull side",
        "torcedura: jamba de contra girada respecto a la de bisagras, + si arriba va hacia el lado de jalar",
    ),
    Measure(
        "foot_gap_hinge",
        Kind.DEVIATION,
        "hinge jamb foot above the slab",
        "pie de la jamba de bisagras sobre la losa",
    ),
    Measure(
        "foot_gap_strike",
        Kind.DEVIATION,
        "strike jamb foot above the slab",
        "pie de la jamba de contra sobre la losa",
    ),
    Measure("gap_head_hinge", Kind.DEVIATION, "gap at the head, hinge end", "holgura al cabezal, lado bisagras"),
    Measure("gap_head_strike", Kind.DEVIATION, "gap at the head, strike end", "holgura al cabezal, lado contra"),
    Measure("gap_hinge", Kind.DEVIATION, "gap at the hinge edge", "holgura en el canto de bisagras"),
    Measure("gap_strike_head", Kind.DEVIATION, "gap at the strike edge, top", "holgura de contra, arriba"),
    Measure("gap_strike_mid", Kind.DEVIATION, "gap at the strike edge, middle", "holgura de contra, al medio"),
    Measure("gap_strike_floor", Kind.DEVIATION, "gap at the strike edge, bottom", "holgura de contra, abajo"),
    Measure("gap_meeting", Kind.DEVIATION, "gap between the leaves of a pair", "holgura entre las dos hojas"),
    Measure("gap_floor", Kind.DEVIATION, "gap under the leaf", "holgura bajo la hoja"),
    Measure("clear_width", Kind.SIZE, "clear width, leaf at 90 degrees, face to stop", "paso libre, hoja a 90 grados"),
)

MEASURES: Mapping[str, Measure] = {measure.name: measure for measure in _TABLE}

# Taken under the swing as pairs of angle and rise, so not one length like the others.
FLOOR_RISE = "floor_rise"

LARGEST_SIZE = INCH * 480
LARGEST_DEVIATION = INCH * 24
SMALLEST_SIZE = Length(1)
