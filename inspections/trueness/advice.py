"""Which way to move the frame: the smallest moves that bring every item within its limit, and what will be read then.

The sum of all movement is made least, as a linear programme over the levers of moves.py; the moves are then told in
the order a foreman works: level the head at the base anchors, plumb the hinge jamb, bring the strike jamb to width,
take out the twist. Nobody is sent to move a frame on readings that contradict each other: then the advice is to
measure again.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from inspections.trueness.linear import Row, least_change
from inspections.trueness.moves import LEVERS, Lever, Move, as_moves, effect, shifted
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings
from inspections.trueness.shape import FrameShape, frame_shape
from inspections.trueness.verdict import Item, Outcome, Verdict, judge_readings
from sitetrack.kit.lengths import ZERO, Length

# Moves are whole nanometres while W/H of one is not, so a row may end two of them over. Then the limits are taken
# that much closer and the moves worked out once more.
_CLOSER_NM = (0, 8)


@dataclass(frozen=True, slots=True)
class Advice:
    """Moves in the order of work, the readings to expect after them, and the verdict those would get.

    `measure_again` names readings that contradict each other; then there are no moves. `out_of_reach` names items
    that are out and that no move of the frame mends.
    """

    moves: tuple[Move, ...]
    predicted: Readings
    verdict_after: Verdict
    measure_again: tuple[str, ...] = ()
    out_of_reach: tuple[str, ...] = ()


def advise(
    readings: Readings,
    *,
    opening: NominalOpening,
    profile: ToleranceProfile,
    required: Sequence[str] | None = None,
    verdict: Verdict | None = None,
) -> Advice:
    """Advise on one set of readings; `verdict`, when already given on them, saves judging them again."""
    before = verdict or judge_readings(readings, opening=opening, profile=profile, required=required)
    if before.contradictions:
        return Advice((), readings, before, measure_again=before.contradictions[0].one_of)
    if not before.failed:
        return Advice((), readings, before)
    levers = _usable(readings)
    rows = [(item, _coefficients(item, levers, opening)) for item in before.items]
    fixed = tuple(item.name for item, row in rows if not any(row) and item.verdict is Outcome.FAIL)
    bounded = [(item, row) for item, row in rows if any(row)]
    for closer in _CLOSER_NM:
        amounts = _solve(bounded, levers, closer)
        if amounts is None:
            break
        after = predict(readings, amounts, opening)
        judged = judge_readings(after, opening=opening, profile=profile, required=required)
        if {item.name for item in judged.failed} <= set(fixed):
            return Advice(as_moves(amounts), after, judged, out_of_reach=fixed)
    return Advice((), readings, before, out_of_reach=tuple(item.name for item in before.failed))


def predict(readings: Readings, amounts: Mapping[str, Length], opening: NominalOpening) -> Readings:
    """Foretell every reading after moves, given as signed amounts by lever name."""
    lengths = dict(readings.lengths)
    for lever in LEVERS:
        amount = amounts.get(lever.name)
        if amount:
            for name in lever.changes:
                if name in lengths:
                    lengths[name] += shifted(lever, name, amount, opening)
    level = amounts.get("level", ZERO)
    for name, raised in (("foot_gap_strike", max(level, ZERO)), ("foot_gap_hinge", max(-level, ZERO))):
        if name in lengths:
            lengths[name] += raised
    _turn_diagonals(lengths, readings.lengths, level, opening)
    return replace(readings, lengths=lengths)


def _turn_diagonals(
    lengths: dict[str, Length], before: Mapping[str, Length], level: Length, opening: NominalOpening
) -> None:
    names = [name for name in ("diagonal_hinge_foot", "diagonal_strike_foot") if name in lengths]
    if not names:
        return
    rise = before.get("head_level", ZERO)
    was = _diagonals(frame_shape(before, opening), rise, opening)
    now = _diagonals(frame_shape(lengths, opening), rise + level, opening)
    for name in names:
        lengths[name] += Length(round(now[name] - was[name]))


def _diagonals(shape: FrameShape, rise: Length, opening: NominalOpening) -> dict[str, float]:
    """Both diagonals in nm: jambs of the opening's height, the strike end of the head higher by `rise`."""
    floor, height = shape.width_floor.nm, opening.height.nm
    return {
        "diagonal_hinge_foot": math.hypot(floor + shape.strike_side.nm, height + rise.nm),
        "diagonal_strike_foot": math.hypot(floor - shape.hinge_side.nm, height - rise.nm),
    }


def _usable(readings: Readings) -> list[Lever]:
    return [lever for lever in LEVERS if lever.seen_by is None or lever.seen_by in readings.lengths]


def _coefficients(item: Item, levers: Sequence[Lever], opening: NominalOpening) -> tuple[float, ...]:
    return tuple(effect(lever, item.name, opening) for lever in levers)


def _solve(
    bounded: Sequence[tuple[Item, tuple[float, ...]]], levers: Sequence[Lever], closer: int
) -> dict[str, Length] | None:
    rows = [
        Row(
            row,
            low=item.least.nm - item.value.nm + min(closer, (item.most.nm - item.least.nm) // 2),
            high=item.most.nm - item.value.nm - min(closer, (item.most.nm - item.least.nm) // 2),
        )
        for item, row in bounded
    ]
    found = least_change([1.0] * len(levers), rows)
    if found is None:
        return None
    return {lever.name: Length(round(amount)) for lever, amount in zip(levers, found, strict=True)}
