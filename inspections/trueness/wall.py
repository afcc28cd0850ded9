"""The wall and the throat that must take it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.walls import SLACK_WANTED
from sitetrack.kit.lengths import ZERO, Length


class ThroatFit(StrEnum):
    """How the wall sits in the throat."""

    FITS = "fits"
    TIGHT = "tight"
    TOO_NARROW = "too_narrow"


@dataclass(frozen=True, slots=True)
class WallTakeoff:
    """Wall thickness, the throat that takes it, and the room left.

    `tight` fits with less room than HMMA 861 wants (from memory); the everyday pairing of trade has none at all.
    """

    thickness: Length
    throat: Length
    slack: Length
    verdict: ThroatFit
    least_jamb_depth: Length
    wanted_jamb_depth: Length


def wall_thickness(stud: Length, boards: Sequence[Length]) -> Length:
    """Stud and every layer of board on both sides."""
    return sum(boards, stud)


def take_off_wall(thickness: Length, *, jamb_depth: Length, each_return: Length) -> WallTakeoff:
    """Compare a wall with a frame's throat, jamb depth less both returns."""
    throat = jamb_depth - each_return * 2
    slack = throat - thickness
    if slack < ZERO:
        verdict = ThroatFit.TOO_NARROW
    else:
        verdict = ThroatFit.TIGHT if slack < SLACK_WANTED.length else ThroatFit.FITS
    least = thickness + each_return * 2
    return WallTakeoff(thickness, throat, slack, verdict, least, least + SLACK_WANTED.length)
