"""Calculations about the door rather than its frame: its hand, the rating its wall asks for, how well it can hang.

Asked and answered as those in answers.py: a plain dict in, a plain dict out, ReadingError naming the field.
"""

from enum import StrEnum
from typing import Any

from inspections.standards.anchors import Wall
from inspections.standards.clearances import GAP_RULES
from inspections.standards.fire import DOOR_FOR_WALL, WallUse
from inspections.standards.sources import HANDING
from inspections.trueness.best_hang import best_hang
from inspections.trueness.door_fit import Fit
from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.fire import door_rating
from inspections.trueness.handing import hand_from_outside, possible_hands
from inspections.trueness.opening import read_choice
from inspections.trueness.requests import as_object, read_check_request
from sitetrack.kit.lengths import ZERO, length_json

Answer = dict[str, Any]


class SeenFrom(StrEnum):
    """Where one stands: on the key, corridor or secure side; or on the side where the knuckles show."""

    OUTSIDE = "outside"
    PULL = "pull"


class Hinges(StrEnum):
    """The side on which the hinges are, as seen from there."""

    LEFT = "left"
    RIGHT = "right"


class Swings(StrEnum):
    """Which way the leaf goes, as seen from there."""

    TOWARD_YOU = "toward_you"
    AWAY = "away"


def handing(request: object) -> Answer:
    """The hand from what is seen at the door. Asks: seen_from, hinges, and from the outside swings.

    The pull side alone cannot tell which of two hands it is: that depends on which side is the outside.
    """
    asked = as_object(request)
    seen_from = read_choice("seen_from", asked.get("seen_from"), SeenFrom)
    hinges_left = read_choice("hinges", asked.get("hinges"), Hinges) is Hinges.LEFT
    if seen_from is SeenFrom.PULL:
        hands = list(possible_hands(hinges_left_on_pull=hinges_left))
    else:
        toward = read_choice("swings", asked.get("swings"), Swings) is Swings.TOWARD_YOU
        hands = [hand_from_outside(hinges_left=hinges_left, swings_toward_you=toward)]
    return {"hands": [hand.value for hand in hands], "sources": [HANDING.cited()]}


def rating(request: object) -> Answer:
    """The door a rated wall needs; the listing and the authority decide. Asks: wall_minutes, use?, wall?."""
    asked = as_object(request)
    minutes = asked.get("wall_minutes")
    walls = sorted({minutes for minutes, _ in DOOR_FOR_WALL})
    if isinstance(minutes, bool) or minutes not in walls:
        raise ReadingError("wall_minutes", shown(minutes), "one of " + ", ".join(map(str, walls)))
    use = read_choice("use", asked.get("use", WallUse.OTHER_BARRIER), WallUse)
    wall = read_choice("wall", asked.get("wall", Wall.STEEL_STUD), Wall)
    found = door_rating(minutes, use=use, wall=wall)
    if found is None:
        raise ReadingError("use", use.value, "a use that the table has for this wall")
    return {
        "door_minutes": int(found.minutes.value),
        "needs_specific_listing": found.needs_specific_listing,
        "stud_frame_most_minutes": int(found.frame_limit.value),
        "sources": [found.minutes.cited(), found.frame_limit.cited()],
    }


def hang(request: object) -> Answer:
    """The best that shimming the hinges can do in the frame as it stands. Asks: opening, leaf?, readings, profile?."""
    asked = read_check_request(request)
    found = best_hang(asked.readings, opening=asked.opening, leaf=asked.leaf, profile=asked.profile)
    if found is None:
        raise ReadingError("opening.leaves", str(asked.opening.leaves), "1: the leaves of a pair share the meeting gap")
    rule, units = GAP_RULES[asked.profile.gap_rule], asked.units
    least = rule.least.length if rule.least else ZERO
    binds = any(gap < least or gap <= ZERO for gap in found.gaps.values())
    return {
        "verdict": (Fit.BINDS if binds else Fit.FREE).value,
        "gaps": {place: length_json(gap, units=units) for place, gap in found.gaps.items()},
        "worst_off": length_json(found.worst_off, units=units),
        "sources": [rule.most.cited(), asked.profile.edge_gap.cited()],
    }
