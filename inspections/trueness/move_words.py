"""Moves in words, English and Spanish, with left and right where the hand is known.

Along the wall a move is toward the strike or toward the hinges; from the pull side that is left or right by the hand.
"""

from collections.abc import Mapping

from inspections.trueness.moves import Direction, Move, Part
from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import UnitSystem, format_length

_PARTS: Mapping[Part, tuple[str, str]] = {
    Part.STRIKE_FOOT: ("foot of the strike jamb", "el pie de la jamba de contra"),
    Part.HINGE_FOOT: ("foot of the hinge jamb", "el pie de la jamba de bisagras"),
    Part.HINGE_TOP: ("top of the hinge jamb", "la parte alta de la jamba de bisagras"),
    Part.STRIKE_TOP: ("top of the strike jamb", "la parte alta de la jamba de contra"),
    Part.STRIKE_MIDDLE: ("strike jamb at mid height", "la jamba de contra a media altura"),
    Part.STRIKE_JAMB: ("whole strike jamb", "toda la jamba de contra"),
}
_DIRECTIONS: Mapping[Direction, tuple[str, str]] = {
    Direction.UP: ("up", "hacia arriba"),
    Direction.TOWARD_STRIKE: ("toward the strike side", "hacia el lado de contra"),
    Direction.TOWARD_HINGE: ("toward the hinge side", "hacia el lado de bisagras"),
    Direction.TOWARD_PULL: ("toward the pull side", "hacia el lado de jalar"),
    Direction.TOWARD_PUSH: ("toward the push side", "hacia el lado de empujar"),
}
_SIDES: Mapping[str, tuple[str, str]] = {
    "left": ("left seen from the pull side", "izquierda desde el lado de jalar"),
    "right": ("right seen from the pull side", "derecha desde el lado de jalar"),
}


def side_from_pull(direction: Direction, opening: NominalOpening) -> str | None:
    """Say "left" or "right" for a move along the wall, seen from the pull side; None without a hand or across it."""
    if opening.hinges_left_on_pull is None or direction not in (Direction.TOWARD_STRIKE, Direction.TOWARD_HINGE):
        return None
    return "right" if (direction is Direction.TOWARD_STRIKE) == opening.hinges_left_on_pull else "left"


def move_in_words(move: Move, opening: NominalOpening, units: UnitSystem) -> dict[str, str]:
    """One sentence in each language."""
    amount = format_length(move.amount, units=units, denominator=64)
    part, direction = _PARTS[move.part], _DIRECTIONS[move.direction]
    side = side_from_pull(move.direction, opening)
    seen = ("", "") if side is None else tuple(f" ({words})" for words in _SIDES[side])
    return {
        "en": f"Move the {part[0]} {amount} {direction[0]}{seen[0]}.",
        "es": f"Mover {part[1]} {amount} {direction[1]}{seen[1]}.",
    }
