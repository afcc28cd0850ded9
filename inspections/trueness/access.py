"""Whether a door is accessible: thresholds, hardware heights, forces, closing time and floor to maneuver on."""

from inspections.standards.access import (
    CLEAR_WIDTH,
    CLEAR_WIDTH_DEEP,
    CLOSER_SECONDS,
    DEEP_OVER,
    HARDWARE_HIGHEST,
    HARDWARE_LOWEST,
    MANEUVERING,
    OPENING_FORCE,
    THRESHOLD_ALTERED,
    THRESHOLD_HEIGHT,
    THRESHOLD_UPRIGHT,
)
from sitetrack.kit.lengths import ZERO, Length


def clear_width_passes(clear: Length, *, depth: Length = ZERO) -> bool:
    """At least 32 in, or 36 in through an opening more than 24 in deep."""
    return clear >= (CLEAR_WIDTH_DEEP if depth > DEEP_OVER.length else CLEAR_WIDTH).length


def threshold_passes(height: Length, *, upright: Length, altered: bool = False) -> bool:
    """Not over 1/2 in of which 1/4 in may stand upright; 3/4 in with bevels where a door is altered."""
    return height <= (THRESHOLD_ALTERED if altered else THRESHOLD_HEIGHT).length and upright <= THRESHOLD_UPRIGHT.length


def hardware_height_passes(height: Length) -> bool:
    """Operable parts from 34 to 48 in above the finish floor."""
    return HARDWARE_LOWEST.length <= height <= HARDWARE_HIGHEST.length


def opening_force_passes(pounds_force: float, *, fire_door: bool = False) -> bool:
    """Not over 5 lbf at an interior hinged door; a fire door takes the least its authority allows, so passes here."""
    return fire_door or pounds_force <= OPENING_FORCE.value


def closing_time_passes(seconds: float) -> bool:
    """At least 5 s from 90 degrees to 12 degrees from the latch."""
    return seconds >= CLOSER_SECONDS.value


def maneuvering_passes(approach: str, side: str, *, depth: Length, beyond: Length, closer: bool = False) -> bool:
    """Whether the level floor at a door suffices; KeyError for an approach or side the table does not have."""
    enough = MANEUVERING[approach, side].enough(closer=closer)
    return any(depth.inches >= least and beyond.inches >= wide for least, wide in enough)
