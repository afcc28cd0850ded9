"""The end of the walk: phases become the states that people read, and the next trade is named."""

from collections.abc import Mapping

from openings.sequence.facts import Fact
from openings.sequence.readiness import blockers, remaining_lengths, remaining_path
from openings.sequence.state import BreachKind, HoldState, OpeningState, StageState, State
from openings.sequence.walk import Phase, Track, Walk

# What a stage that has been begun is called on the page when it does not stand.
STATE_WHEN_NOT_STANDING = {
    BreachKind.FAILED_CHECK: State.FAILED,
    BreachKind.CHECK_OUTDATED: State.OUTDATED,
    BreachKind.BEFORE_SIGNED: State.UNDERWAY,
    BreachKind.PAST_HOLD_POINT: State.UNDERWAY,
    BreachKind.OUT_OF_ORDER: State.UNDERWAY,
}


def settle(walk: Walk, taken_back: Mapping[str, str], last_at: int | None) -> OpeningState:
    """Return the state of the opening at the end of a walk."""
    structure = walk.structure
    holds = tuple(_hold_state(walk, fact, at) for at, fact in walk.holds)
    stages = _Settling(walk, holds).stages()
    standing = {code for code, stage in stages.items() if stage.state is State.DONE}
    lengths = remaining_lengths(structure, standing)
    ready = [code for code, stage in stages.items() if stage.actionable]
    ready.sort(key=lambda code: -lengths[code])  # a stable sort: equal lengths stay in plan order
    trades = list(dict.fromkeys(structure.stages[code].trade.value for code in ready))
    return OpeningState(
        stages=stages,
        breaches=tuple(walk.breaches),
        conflicts=tuple(sorted(walk.conflicts, key=lambda conflict: (conflict.fact, conflict.code))),
        holds=holds,
        taken_back=taken_back,
        next_stage=ready[0] if ready else None,
        next_trade=trades[0] if trades else None,
        other_trades=tuple(trades[1:]),
        ready=tuple(ready),
        remaining_path=remaining_path(structure, standing, lengths),
        earned=sum(structure.stages[code].weight for code in standing),
        total=structure.total_weight,
        last_at=last_at,
    )


class _Settling:
    """The states of the stages of one walk, which all ask for the same few sets."""

    def __init__(self, walk: Walk, holds: tuple[HoldState, ...]) -> None:
        self.walk = walk
        self.structure = walk.structure
        self.held_since = min((hold.at for hold in holds if hold.open), default=None)
        self.last_release = max((hold.released_at for hold in holds if hold.released_at is not None), default=None)
        self.reported = {code: self._reported_state(track) for code, track in walk.tracks.items() if track.fact}
        self.standing = {code for code, state in self.reported.items() if state is State.DONE}
        self.outdated = {code for code, state in self.reported.items() if state is State.OUTDATED}

    def stages(self) -> dict[str, StageState]:
        """The state of every stage of the plan, in plan order."""
        return {
            code: self._stage(code) if code in self.structure.prerequisites else StageState(code, State.NOT_NEEDED)
            for code in self.structure.stages
        }

    def _reported_state(self, track: Track) -> State:
        """The state of a stage that something was reported of, before any hold."""
        reason = self.walk.why_not_standing(track)
        return State.DONE if reason is None else STATE_WHEN_NOT_STANDING[reason]

    def _stage(self, code: str) -> StageState:
        state = self.reported.get(code)
        if state is State.DONE:
            return self._reported(code, state, since=_done_at(self.walk.tracks[code]))
        blocked_by = blockers(self.structure, code, self.standing, self.outdated)
        since: int | None
        if state is None:
            state = State.WAITING if blocked_by else State.READY
            since = None if blocked_by else self._ready_since(code)
        else:
            track = self.walk.tracks[code]
            since = min(track.changed.values(), default=track.at) if state is State.OUTDATED else track.at
        actionable = not blocked_by and self.held_since is None
        if self.held_since is not None and state in (State.READY, State.UNDERWAY):
            state, since = State.HELD, max(self.held_since, since or self.held_since)
        if code not in self.reported:
            return StageState(code, state, actionable, since, blocked_by=blocked_by)
        return self._reported(code, state, since, actionable=actionable, blocked_by=blocked_by)

    def _reported(
        self, code: str, state: State, since: int | None, *, actionable: bool = False, blocked_by: tuple[str, ...] = ()
    ) -> StageState:
        track = self.walk.tracks[code]
        reported = self.reported[code]
        reading, fact = track.reading, track.fact
        return StageState(
            code=code,
            state=state,
            actionable=actionable,
            since=since,
            started_at=track.started_at,
            done_at=_done_at(track) if reported is State.DONE else None,
            by=None if fact is None else fact.person,
            fact=_id(fact),
            reading=_id(reading),
            signed_by=_id(track.signature),
            waived=reported is State.DONE and track.waiver is not None,
            awaits_signature=reported is State.UNDERWAY and track.phase is Phase.ACHIEVED,
            blocked_by=blocked_by,
            outdated_by=self.walk.outdated_by(track) if reported is State.OUTDATED else (),
        )

    def _ready_since(self, code: str) -> int | None:
        """When the last prerequisite was done, or the last hold released if that came later."""
        times = [_done_at(self.walk.tracks[before]) for before in self.structure.prerequisites[code]]
        if self.last_release is not None:
            times.append(self.last_release)
        return max(times, default=None)


def _done_at(track: Track) -> int:
    return max(track.at, track.signed_at) if track.signature else track.at


def _id(fact: Fact | None) -> str | None:
    return None if fact is None else fact.id


def _hold_state(walk: Walk, fact: Fact, at: int) -> HoldState:
    released_at, release = walk.releases.get(fact.id, (None, None))
    return HoldState(
        id=fact.id,
        stage=fact.stage,
        at=at,
        person=fact.person,
        company=fact.company,
        note=fact.note,
        released_by=_id(release),
        released_at=None if released_at is None else max(at, released_at),
    )
