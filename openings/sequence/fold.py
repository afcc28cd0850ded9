"""The state of an opening, worked out from everything that was ever reported of it.

Theory of operation. An opening's check-ins are a set that only grows: nobody edits one, a mistake is taken back by
another check-in. Its state is a function of that set alone, so it does not matter in which order the phones came back
into signal, nor how often they sent the same thing. facts.py puts the set into its one order; here it is walked once.

Each stage the opening needs is in one of four phases: not begun, underway, achieved, failed. Work is achieved when it
is finished; starting it again reopens it. A check is achieved when its reading passes, and every new reading replaces
the last. Beside the phase a check remembers two things: who signed its last reading (the signature may have come first:
clocks differ), and which of the stages it covers were started or finished since that reading. A check *stands* when
its last reading passed, nothing it covers has changed since or is undone, and the signature its plan asks for is there.
Work stands when it is finished.

This is how a build tool thinks. A check is a result computed from what it covers; when an input changes, the result is
out of date, and so is whatever rests on it, until the check is made again. A supervisor may waive a failed reading by
a signature that gives the reason; the check then stands, and is marked as waived for ever.

Before an event of a stage is applied, each of its direct prerequisites must stand; one that does not is a breach
(breaches.py). Stages that the opening does not need are looked through (structure.py). A hold stops the whole opening,
whatever stage it was reported at, until a release that names it. At the end of the walk the phases become the states
that people read (settling.py).

The walk is total. What does not fit (a stage the plan does not have, a signature from the wrong role, a release of
nothing) is named in the state as a conflict and otherwise has no effect: a stored check-in may have been right when it
was accepted and have lost its footing when an earlier one arrived late.
"""

from collections.abc import Callable, Iterable

from openings.sequence.conditions import Attributes
from openings.sequence.facts import Action, Fact, in_order, live_facts
from openings.sequence.plan import Plan
from openings.sequence.settling import settle
from openings.sequence.stage import Kind
from openings.sequence.state import Conflict, ConflictCode, OpeningState
from openings.sequence.walk import Track, Walk

Move = Callable[[Walk, Track, Fact, int], None]

# What an action does to a stage of each kind; what is not in the table is a conflict.
MOVES: dict[Kind, dict[str, Move]] = {
    Kind.WORK: {Action.START: Walk.start, Action.FINISH: Walk.finish},
    Kind.CHECK: {Action.START: Walk.start, Action.FINISH: Walk.read, Action.FAIL: Walk.read, Action.SIGN: Walk.sign},
}

# What an action does to the opening as a whole; the stage it was reported at is only remembered.
OPENING_MOVES: dict[str, Callable[[Walk, Fact, int], None]] = {
    Action.HOLD: Walk.hold,
    Action.RELEASE: Walk.release,
    Action.NOTE: Walk.note,
}

MISFITS: dict[str, ConflictCode] = {
    Action.FAIL: ConflictCode.WORK_CANNOT_FAIL,
    Action.SIGN: ConflictCode.NOTHING_TO_SIGN,
}


def fold(plan: Plan, attributes: Attributes, facts: Iterable[Fact]) -> OpeningState:
    """Return the state of one opening from all its check-ins, in any order and any number of copies.

    `attributes` are what is known of the opening, as conditions.ATTRIBUTES names them; None or absent is unknown.
    Never raises on stored facts.
    """
    structure = plan.structure(attributes)
    live, taken_back, conflicts = live_facts(facts)
    ordered, copied = in_order(live.values())
    walk = Walk(structure, live, conflicts + copied)
    for at, _, _, _, fact in ordered:
        opening_move = OPENING_MOVES.get(fact.action)
        if opening_move is not None:
            opening_move(walk, fact, at)
            continue
        track = walk.track(fact.stage)
        if track is None:
            known = fact.stage in structure.stages
            code = ConflictCode.STAGE_NOT_NEEDED if known else ConflictCode.UNKNOWN_STAGE
            walk.conflicts.append(Conflict(code, fact.id, {"stage": fact.stage, "action": fact.action}))
            continue
        move = MOVES[track.stage.kind].get(fact.action)
        if move is not None:
            move(walk, track, fact, at)
            continue
        code = MISFITS.get(fact.action, ConflictCode.UNKNOWN_ACTION)
        walk.conflicts.append(Conflict(code, fact.id, {"stage": fact.stage, "action": fact.action}))
    return settle(walk, taken_back, last_at=ordered[-1][0] if ordered else None)
