"""The opening as scheduled: what the readings are judged against."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from inspections.trueness.errors import ReadingError, shown
from inspections.trueness.readings import size_length
from sitetrack.kit.lengths import INCH, ZERO, Length, UnitSystem

Choice = TypeVar("Choice", bound=StrEnum)

NARROWEST, WIDEST = INCH * 12, INCH * 240
LOWEST, HIGHEST = INCH * 36, INCH * 240
THICKEST_COVERING = INCH * 24
LONGEST_RATING = 480


class Hand(StrEnum):
    """The opening's hand, as SDI 111 and BHMA name them, seen from the outside."""

    LH = "LH"
    RH = "RH"
    LHR = "LHR"
    RHR = "RHR"


class FootOn(StrEnum):
    """What the frame's foot stands on: the slab, or set up to the finish floor on adjustable base anchors."""

    SLAB = "slab"
    FINISH = "finish"


@dataclass(frozen=True, slots=True)
class NominalOpening:
    """One opening as scheduled: rabbet to rabbet by head rabbet to frame bottom, and what else decides its fit."""

    width: Length
    height: Length
    leaves: int = 1
    hand: Hand | None = None
    rating_minutes: int | None = None
    covering: Length = ZERO
    foot_on: FootOn = FootOn.SLAB

    @property
    def rated(self) -> bool:
        """True when a fire rating is known and more than none."""
        return bool(self.rating_minutes)

    @property
    def door_sized(self) -> bool:
        """True when a door could hang in it; a schedule may say anything, and a leaf is worked out from it."""
        return NARROWEST <= self.width <= WIDEST and LOWEST <= self.height <= HIGHEST

    @property
    def hinges_left_on_pull(self) -> bool | None:
        """Whether the hinges stand on the left, seen from the pull side; None when the hand is unknown.

        Pull side left is RH or LHR: a leaf that swings away from the outside shows its knuckles inside.
        """
        if self.hand is None:
            return None
        return self.hand in (Hand.RH, Hand.LHR)


def read_opening(given: object, *, units: UnitSystem = "imperial") -> NominalOpening:
    """Read the `opening` object of a request; width and height must be there. Raises ReadingError."""
    if not isinstance(given, Mapping):
        raise ReadingError("opening", shown(given), 'an object such as {"width": "3\'-0\\"", "height": "7\'-0\\""}')
    covering = ZERO
    if given.get("covering") not in (None, ""):
        covering = size_length("opening.covering", given["covering"], least=ZERO, most=THICKEST_COVERING, units=units)
    return NominalOpening(
        width=size_length("opening.width", given.get("width"), least=NARROWEST, most=WIDEST, units=units),
        height=size_length("opening.height", given.get("height"), least=LOWEST, most=HIGHEST, units=units),
        leaves=read_whole("opening.leaves", given.get("leaves", 1), least=1, most=2),
        hand=_hand(given.get("hand")),
        rating_minutes=_rating(given.get("rating_minutes")),
        covering=covering,
        foot_on=read_choice("opening.foot_on", given.get("foot_on", FootOn.SLAB), FootOn),
    )


def read_whole(field: str, given: object, *, least: int, most: int) -> int:
    """Read a whole number within bounds; raises ReadingError."""
    if isinstance(given, bool) or not isinstance(given, int) or not least <= given <= most:
        raise ReadingError(field, shown(given), f"a whole number from {least} to {most}")
    return given


def read_choice(field: str, given: object, choices: type[Choice]) -> Choice:
    """Read one word of a known few; raises ReadingError naming them."""
    try:
        return choices(str(given))
    except ValueError:
        raise ReadingError(field, shown(given), "one of " + ", ".join(choices)) from None


def _hand(given: object) -> Hand | None:
    return None if given in (None, "") else read_choice("opening.hand", given, Hand)


def _rating(given: object) -> int | None:
    return None if given is None else read_whole("opening.rating_minutes", given, least=0, most=LONGEST_RATING)
