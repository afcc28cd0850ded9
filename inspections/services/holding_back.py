"""What the fold of the check-ins can't know: that the schedule has left the opening out, or made its frame a wrong one.

Nobody works at an opening the schedule no longer lists. No wall is closed over a frame that a revision has made another
one, until a named person closes the alert about it and so says that the frame stays.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from inspections.models import Alert
from inspections.models.alerts import ClosedHow
from inspections.rules.frames import SCHEDULE_CHANGED
from inspections.selectors.frame_changes import FRAME_IS_MADE_BY
from inspections.services.alerts import Key
from inspections.services.cases import WorkedOut
from openings.sequence.plan import Plan
from openings.sequence.stage import Mark
from openings.sequence.state import OpeningState, StageState, State


def hold_back(worked: Iterable[WorkedOut], found: Mapping[Key, Alert]) -> list[WorkedOut]:
    """The same openings with what is held back no longer ready; one query where a revision changed a frame's facts."""
    undecided = _undecided(found)
    return [replace(each, state=_held_back(each, undecided)) for each in worked]


def _held_back(each: WorkedOut, undecided: Collection[object]) -> OpeningState:
    if not each.opening.in_schedule:
        return _without(each.state, each.case.plan, each.state.stages, None)
    if each.opening.pk in undecided:
        return _without(each.state, each.case.plan, each.case.marked(Mark.CLOSES_WALL), State.HELD)
    return each.state


def _undecided(found: Mapping[Key, Alert]) -> set[object]:
    """Openings with a change that makes their frame another one, and that nobody has said to leave."""
    changed = {
        key
        for key, alert in found.items()
        if alert.rule == SCHEDULE_CHANGED and alert.evidence["field"] in FRAME_IS_MADE_BY
    }
    if not changed:
        return set()
    decided = Alert.objects.filter(
        opening__in={key[0] for key in changed}, rule=SCHEDULE_CHANGED, closed_how=ClosedHow.PERSON
    )
    return {opening for opening, *_ in changed - set(decided.values_list("opening_id", "rule", "cause"))}


def _without(state: OpeningState, plan: Plan, codes: Collection[str], called: State | None) -> OpeningState:
    """The state with these stages not to be acted on, and `called` so where they could have been."""
    stages = {code: _stopped(stage, called) if code in codes else stage for code, stage in state.stages.items()}
    ready: Sequence[str] = [code for code in state.ready if code not in codes]
    trade_of = {stage.code: stage.trade.value for stage in plan.stages}
    trades = list(dict.fromkeys(trade_of[code] for code in ready))
    return replace(
        state,
        stages=stages,
        ready=tuple(ready),
        next_stage=ready[0] if ready else None,
        next_trade=trades[0] if trades else None,
        other_trades=tuple(trades[1:]),
    )


def _stopped(stage: StageState, called: State | None) -> StageState:
    if not stage.actionable:
        return stage
    return replace(stage, actionable=False, state=called or stage.state)
