"""The moves a foreman can make with shims, a bar and the base anchors, and what each does to every reading.

One table: a move of one unit changes the named readings by so much. W/H stands for the opening's width over its
height, by which the lean of the hinge jamb is carried into squareness.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inspections.trueness.opening import NominalOpening
from inspections.trueness.shape import carried
from sitetrack.kit.lengths import Length


class Part(StrEnum):
    """What is moved."""

    STRIKE_FOOT = "strike_foot"
    HINGE_FOOT = "hinge_foot"
    HINGE_TOP = "hinge_top"
    STRIKE_TOP = "strike_top"
    STRIKE_MIDDLE = "strike_middle"
    STRIKE_JAMB = "strike_jamb"


class Direction(StrEnum):
    """Which way it goes: up, along the wall, or across it."""

    UP = "up"
    TOWARD_STRIKE = "toward_strike"
    TOWARD_HINGE = "toward_hinge"
    TOWARD_PULL = "toward_pull"
    TOWARD_PUSH = "toward_push"


_WIDTH_OVER_HEIGHT = "W/H"


@dataclass(frozen=True, slots=True)
class Lever:
    """One thing that can be moved either way, where it comes in the foreman's order, and what moving it changes.

    `seen_by`: the reading without which moving it would be blind; None when it may always be moved.
    """

    name: str
    order: int
    forward: tuple[Part, Direction]
    back: tuple[Part, Direction]
    changes: Mapping[str, float | str]
    seen_by: str | None = None


_ONE, _HALF = 1.0, 0.5

# In order of preference where two moves would cost the same: the strike jamb before the hinge jamb, whose hinges,
# squareness and head hang on it. `order` is the order of work.
LEVERS: Sequence[Lever] = (
    Lever(
        "level",
        1,
        (Part.STRIKE_FOOT, Direction.UP),
        (Part.HINGE_FOOT, Direction.UP),
        {"head_level": _ONE, "squareness": _ONE},
    ),
    Lever(
        "strike_foot_side",
        4,
        (Part.STRIKE_FOOT, Direction.TOWARD_STRIKE),
        (Part.STRIKE_FOOT, Direction.TOWARD_HINGE),
        {"width_floor": _ONE, "width_mid": _HALF, "strike_plumb_side": -_ONE},
    ),
    Lever(
        "strike_top_side",
        5,
        (Part.STRIKE_TOP, Direction.TOWARD_STRIKE),
        (Part.STRIKE_TOP, Direction.TOWARD_HINGE),
        {"width_head": _ONE, "width_mid": _HALF, "strike_plumb_side": _ONE},
    ),
    Lever(
        "strike_middle_side",
        6,
        (Part.STRIKE_MIDDLE, Direction.TOWARD_STRIKE),
        (Part.STRIKE_MIDDLE, Direction.TOWARD_HINGE),
        {"width_mid": _ONE},
    ),
    Lever(
        "strike_across",
        7,
        (Part.STRIKE_JAMB, Direction.TOWARD_PULL),
        (Part.STRIKE_JAMB, Direction.TOWARD_PUSH),
        {"alignment": _ONE},
    ),
    Lever(
        "strike_top_face",
        8,
        (Part.STRIKE_TOP, Direction.TOWARD_PULL),
        (Part.STRIKE_TOP, Direction.TOWARD_PUSH),
        {"strike_plumb_face": _ONE, "twist": _ONE},
    ),
    Lever(
        "hinge_top_side",
        2,
        (Part.HINGE_TOP, Direction.TOWARD_STRIKE),
        (Part.HINGE_TOP, Direction.TOWARD_HINGE),
        {"hinge_plumb_side": _ONE, "width_head": -_ONE, "width_mid": -_HALF, "squareness": _WIDTH_OVER_HEIGHT},
        seen_by="hinge_plumb_side",
    ),
    Lever(
        "hinge_top_face",
        3,
        (Part.HINGE_TOP, Direction.TOWARD_PULL),
        (Part.HINGE_TOP, Direction.TOWARD_PUSH),
        {"hinge_plumb_face": _ONE, "twist": -_ONE},
        seen_by="hinge_plumb_face",
    ),
)


@dataclass(frozen=True, slots=True)
class Move:
    """One move to make: where it comes in the work, what to move, which way, and how far."""

    order: int
    part: Part
    direction: Direction
    amount: Length


def effect(lever: Lever, reading: str, opening: NominalOpening) -> float:
    """What one unit of a lever changes a reading by; zero when it leaves it alone."""
    change = lever.changes.get(reading, 0.0)
    return opening.width.nm / opening.height.nm if isinstance(change, str) else change


def shifted(lever: Lever, reading: str, amount: Length, opening: NominalOpening) -> Length:
    """What moving a lever by `amount` changes a reading by, to the nanometre."""
    change = lever.changes.get(reading, 0.0)
    return carried(amount, opening) if isinstance(change, str) else Length(round(change * amount.nm))


def as_moves(amounts: Mapping[str, Length]) -> tuple[Move, ...]:
    """Put signed amounts by lever name into the order of work; what does not move is left out."""
    moves: list[Move] = []
    for lever in sorted(LEVERS, key=lambda each: each.order):
        amount = amounts.get(lever.name)
        if amount:
            part, direction = lever.forward if amount.nm > 0 else lever.back
            moves.append(Move(len(moves) + 1, part, direction, abs(amount)))
    return tuple(moves)
