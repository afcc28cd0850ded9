"""The hand of a door from what anyone can see at it."""

from inspections.trueness.opening import Hand


def hand_from_outside(*, hinges_left: bool, swings_toward_you: bool) -> Hand:
    """The hand, standing on the outside: the key, corridor or secure side."""
    if hinges_left:
        return Hand.LHR if swings_toward_you else Hand.LH
    return Hand.RHR if swings_toward_you else Hand.RH


def possible_hands(*, hinges_left_on_pull: bool) -> tuple[Hand, Hand]:
    """The two hands a leaf may be, from where its hinges stand on the side where the knuckles show.

    Which of the two it is depends on which side is the outside, and that the frame cannot tell.
    """
    return (Hand.RH, Hand.LHR) if hinges_left_on_pull else (Hand.LH, Hand.RHR)
