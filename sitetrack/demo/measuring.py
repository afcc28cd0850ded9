"""Readings that look measured: a frame that stands a little off, read with a tape to the nearest 32nd.

The frame is bent first and read afterwards, so that widths, plumbs, squareness and twist hang together as they do in
steel; a hand's error is added to each. Inches throughout.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.verdict import Outcome, judge
from sitetrack.kit.lengths import NM_PER_INCH, Length, format_length

Readings = dict[str, str]
SET_SPREAD = 0.026
HAND_ERROR = 0.007
TRIES = 400


@dataclass(frozen=True, slots=True)
class Stance:
    """How a frame stands: jamb tops off plumb in the wall (side) and across it (face), and what the rest is off by."""

    hinge_side: float = 0.0
    strike_side: float = 0.0
    hinge_face: float = 0.0
    strike_face: float = 0.0
    head: float = 0.0
    alignment: float = 0.0
    width: float = 0.0
    belly: float = 0.0


def set_frame(rng: Random) -> Stance:
    """A frame as a careful crew leaves it."""
    lean = rng.gauss(0, SET_SPREAD)
    return Stance(
        hinge_side=lean,
        strike_side=lean + rng.gauss(0, 0.014),
        hinge_face=rng.gauss(0, SET_SPREAD),
        strike_face=rng.gauss(0, SET_SPREAD),
        head=rng.gauss(0, 0.014),
        alignment=rng.gauss(0, SET_SPREAD),
        width=rng.gauss(0.008, 0.012),
        belly=rng.gauss(0.003, 0.008),
    )


def pushed(stance: Stance, rng: Random, *, hard: bool) -> Stance:
    """The same frame after a board crew: one that slides the board in, or one that drives it in."""
    if not hard:
        return replace(
            stance,
            strike_side=stance.strike_side + rng.gauss(0, 0.005),
            strike_face=stance.strike_face + rng.gauss(0.002, 0.006),
            belly=stance.belly + rng.gauss(-0.002, 0.004),
        )
    return replace(
        stance,
        strike_side=stance.strike_side - abs(rng.gauss(0.018, 0.012)),
        strike_face=stance.strike_face + abs(rng.gauss(0.05, 0.02)),
        alignment=stance.alignment + rng.gauss(0.008, 0.01),
        belly=stance.belly - abs(rng.gauss(0.018, 0.01)),
    )


def knocked(stance: Stance, rng: Random) -> Stance:
    """The frame with one thing plainly out, as someone leaves it who was called away."""
    part = rng.choice(("strike_face", "hinge_face", "alignment", "head"))
    return replace(stance, **{part: rng.choice((-1, 1)) * rng.choice((3 / 32, 1 / 8))})


def read(stance: Stance, opening: NominalOpening, rng: Random) -> Readings:
    """What a hand reads off that frame, to the nearest 32nd."""
    width = opening.width.nm / NM_PER_INCH
    height = opening.height.nm / NM_PER_INCH
    floor = width + stance.width
    head = floor - stance.hinge_side + stance.strike_side
    exact = {
        "width_head": head,
        "width_mid": (floor + head) / 2 + stance.belly,
        "width_floor": floor,
        "hinge_plumb_side": stance.hinge_side,
        "hinge_plumb_face": stance.hinge_face,
        "strike_plumb_side": stance.strike_side,
        "strike_plumb_face": stance.strike_face,
        "squareness": stance.head + stance.hinge_side * width / height,
        "alignment": stance.alignment,
        "twist": stance.strike_face - stance.hinge_face,
    }
    return {name: tape(value + rng.gauss(0, HAND_ERROR)) for name, value in exact.items()}


def read_true(stance: Stance, opening: NominalOpening, rng: Random, required: Sequence[str]) -> tuple[Stance, Readings]:
    """Readings that pass, from that frame or, after moving it as often as it takes, from a better one."""
    for attempt in range(TRIES):
        readings = read(stance, opening, rng)
        if passes(readings, opening, required):
            return stance, readings
        # Moved and read again: closer to true each time.
        stance = set_frame(rng) if attempt < TRIES // 2 else Stance()
    raise RuntimeError("no true frame found: the tolerances are tighter than a hand can read")


def passes(readings: Readings, opening: NominalOpening, required: Sequence[str]) -> bool:
    """What the phone previews: whether these readings would pass."""
    verdict = judge(readings, opening=opening, profile=DEFAULT_PROFILE, required=required)
    return verdict.verdict is Outcome.PASS


def misread(readings: Readings, name: str, by: float) -> Readings:
    """The same readings with one misread on the tape, by so many inches."""
    return {**readings, name: tape(_inches(readings[name]) + by)}


def tape(inches: float) -> str:
    """As written on the stud, to the nearest 32nd: 36 1/32, -1/16, 0."""
    return format_length(Length(round(inches * 32) * NM_PER_INCH // 32), units="imperial").rstrip('"')


def _inches(text: str) -> float:
    sign = -1 if text.startswith("-") else 1
    total = 0.0
    for part in text.lstrip("-").split():
        over, _, under = part.partition("/")
        total += int(over) / int(under or 1)
    return sign * total
