"""A leaf through its swing: how low its latch corner comes over the floor, and which way it swings of itself.

The hinge axis leans alpha toward the strike and gamma toward the pull side (tops off plumb over the height). Opened by
phi, the leaf points along (cos phi, sin phi) in plan and its latch corner stands -w (alpha cos phi + gamma sin phi)
above where a plumb axis would hold it. Leans are of the order of a thousandth, so sines of them are taken as them.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from sitetrack.kit.lengths import Length


class SelfSwing(StrEnum):
    """What the closed leaf does when it is let go, friction left out."""

    OPENS = "opens"
    CLOSES = "closes"
    RESTS = "rests"


@dataclass(frozen=True, slots=True)
class Hanging:
    """How a leaf hangs: its width, the lean of its hinge axis over `height`, and its floor clearance at rest."""

    width: Length
    height: Length
    side: Length
    face: Length
    at_rest: Length


@dataclass(frozen=True, slots=True)
class Lowest:
    """The least floor clearance through a swing, and the angle in degrees where it is."""

    clearance: Length
    angle: float


def self_swing(face: Length) -> SelfSwing:
    """A leaf closed on a jamb whose top leans toward the pull side opens itself; away from it, it closes."""
    if not face:
        return SelfSwing.RESTS
    return SelfSwing.OPENS if face.nm > 0 else SelfSwing.CLOSES


def latch_corner(hanging: Hanging, degrees: float) -> float:
    """Height in nm of the latch corner over where a plumb axis would hold it, opened by `degrees`."""
    angle = math.radians(degrees)
    carried = hanging.side.nm * math.cos(angle) + hanging.face.nm * math.sin(angle)
    return -carried * hanging.width.nm / hanging.height.nm


def least_clearance(hanging: Hanging, rises: Sequence[tuple[float, Length]], max_degrees: float) -> Lowest:
    """Find the least clearance from closed to `max_degrees` over the floor's rises, exactly at its angle.

    Rises are straight between the angles they were read at, zero at the closed door unless read there, and level
    past the last one. Where several angles are as low the first is given.
    """
    best_clearance, best_angle = math.inf, 0.0
    for start, low, end, high in _stretches(rises, max_degrees):
        for angle in sorted({start, end, *_turning_point(hanging, start, low, end, high)}):
            rise = low if end == start else low + (high - low) * (angle - start) / (end - start)
            clearance = hanging.at_rest.nm + latch_corner(hanging, angle) - rise
            if clearance < best_clearance - 0.5:
                best_clearance, best_angle = clearance, angle
    return Lowest(Length(round(best_clearance)), round(best_angle, 2))


def _stretches(
    rises: Sequence[tuple[float, Length]], max_degrees: float
) -> Iterator[tuple[float, float, float, float]]:
    """Straight stretches of floor as (angle, rise nm, angle, rise nm), cut off at the end of the swing."""
    points = [(angle, float(rise.nm)) for angle, rise in rises]
    if not points or points[0][0] > 0:
        points.insert(0, (0.0, 0.0))
    if points[-1][0] < max_degrees:
        points.append((max_degrees, points[-1][1]))
    if max_degrees == 0:
        yield 0.0, points[0][1], 0.0, points[0][1]
        return
    for (start, low), (end, high) in pairwise(points):
        if start < max_degrees:
            stop = min(end, max_degrees)
            yield start, low, stop, low + (high - low) * (stop - start) / (end - start)


def _turning_point(hanging: Hanging, start: float, low: float, end: float, high: float) -> Iterator[float]:
    """The angle inside a stretch where the clearance stops falling, if there is one: corner and floor rise alike.

    Clearance is a constant less reach * cos(phi - toward) less the floor's slope, so it is least where
    reach * sin(phi - toward) equals the slope on the rising side of the sine.
    """
    reach = hanging.width.nm / hanging.height.nm * math.hypot(hanging.side.nm, hanging.face.nm)
    if end <= start or not reach:
        return
    slope = (high - low) / math.radians(end - start)
    if abs(slope) <= reach:
        toward = math.atan2(hanging.face.nm, hanging.side.nm)
        degrees = math.degrees(toward + math.asin(slope / reach)) % 360
        if start < degrees < end:
            yield degrees
