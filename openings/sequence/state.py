"""What the fold gives back: the state of every stage of one opening, and what went wrong on the way.

All of it is plain values, all times are milliseconds since 1970-01-01 UTC, and `to_dict` gives what JSON can hold.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """Where one stage of one opening stands."""

    NOT_NEEDED = "not needed"
    WAITING = "waiting"
    READY = "ready"
    UNDERWAY = "underway"
    DONE = "done"
    FAILED = "failed"
    OUTDATED = "outdated"
    HELD = "held"


class BreachKind(StrEnum):
    """How work went ahead of what it should have waited for."""

    PAST_HOLD_POINT = "past hold point"
    FAILED_CHECK = "failed check"
    CHECK_OUTDATED = "check outdated"
    BEFORE_SIGNED = "before signed"
    OUT_OF_ORDER = "out of order"
    ORDER_UNCERTAIN = "order uncertain"


class ConflictCode(StrEnum):
    """Why a stored check-in counts for nothing."""

    UNKNOWN_STAGE = "unknown stage"
    STAGE_NOT_NEEDED = "stage not needed"
    UNKNOWN_ACTION = "unknown action"
    WORK_CANNOT_FAIL = "work cannot fail"
    NOTHING_TO_SIGN = "nothing to sign"
    SIGNER_NOT_ALLOWED = "signer not allowed"
    SIGNS_NO_READING = "signs no reading"
    RELEASE_OF_NOTHING = "release of nothing"
    RELEASE_NOT_ALLOWED = "release not allowed"
    VOID_OF_NOTHING = "void of nothing"
    VOID_NOT_ALLOWED = "void not allowed"
    VOID_OF_VOID = "void of void"
    COPIED_COUNTER = "copied counter"


BreachKey = tuple[str, str, str]
Plain = str | int | bool | None


@dataclass(frozen=True, slots=True)
class Conflict:
    """A check-in that is kept but does not fit; `params` are what a sentence about it needs."""

    code: ConflictCode
    fact: str
    params: Mapping[str, Plain]

    def to_dict(self) -> dict[str, object]:
        """Return it as plain data."""
        return {"code": self.code.value, "fact": self.fact, "params": dict(self.params)}


@dataclass(frozen=True, slots=True)
class Breach:
    """A start, finish or reading of `stage` before `prerequisite` was done and current.

    `fact` is the check-in that went ahead, at `at`. `was` is the kind it would be were the order certain. `evidence`
    holds who did it, how the prerequisite stood, its last check-in then (`prerequisite_fact`), and, once it has come,
    the check-in that put it right (`righted_by`, `righted_at`) with the two clocks' combined uncertainty in ms.
    """

    stage: str
    prerequisite: str
    fact: str
    at: int
    kind: BreachKind
    was: BreachKind
    critical: bool
    evidence: Mapping[str, Plain]

    @property
    def key(self) -> BreachKey:
        """What makes it the same breach after another fold."""
        return (self.stage, self.prerequisite, self.fact)

    def to_dict(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "stage": self.stage,
            "prerequisite": self.prerequisite,
            "fact": self.fact,
            "at": self.at,
            "kind": self.kind.value,
            "was": self.was.value,
            "critical": self.critical,
            "evidence": dict(self.evidence),
        }


@dataclass(frozen=True, slots=True)
class HoldState:
    """Something that stops the whole opening, from `at` until `released_at`; `stage` is where it was reported."""

    id: str
    stage: str
    at: int
    person: str
    company: str
    note: str
    released_by: str | None = None
    released_at: int | None = None

    @property
    def open(self) -> bool:
        """Whether it still stops the opening."""
        return self.released_by is None

    def to_dict(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "id": self.id,
            "stage": self.stage,
            "at": self.at,
            "person": self.person,
            "company": self.company,
            "note": self.note,
            "open": self.open,
            "released_by": self.released_by,
            "released_at": self.released_at,
        }


@dataclass(frozen=True, slots=True)
class StageState:
    """Where one stage stands.

    `since` is when it came to this state, None where nothing dates it. `fact` is the last start, finish or reading and
    `by` who reported it; `reading` the last reading of a check, `signed_by` the check-in that signed that reading;
    `waived` when that signature let a failed reading stand.
    `blocked_by` lists what must be done, or proved again, before anything may be done here; `outdated_by` the covered
    stages that changed after the reading. `actionable`: someone may go and do this now.
    """

    code: str
    state: State
    actionable: bool = False
    since: int | None = None
    started_at: int | None = None
    done_at: int | None = None
    by: str | None = None
    fact: str | None = None
    reading: str | None = None
    signed_by: str | None = None
    waived: bool = False
    awaits_signature: bool = False
    blocked_by: tuple[str, ...] = ()
    outdated_by: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "code": self.code,
            "state": self.state.value,
            "actionable": self.actionable,
            "since": self.since,
            "started_at": self.started_at,
            "done_at": self.done_at,
            "by": self.by,
            "fact": self.fact,
            "reading": self.reading,
            "signed_by": self.signed_by,
            "waived": self.waived,
            "awaits_signature": self.awaits_signature,
            "blocked_by": list(self.blocked_by),
            "outdated_by": list(self.outdated_by),
        }


@dataclass(frozen=True, slots=True)
class OpeningState:
    """Where one opening stands.

    `stages` is in plan order and has every stage of the plan. `ready` lists the actionable stages, the one on the
    longest remaining path first; `next_stage` is its first. `remaining_path` is that path, of stages not done.
    `earned` of `total` is the weight of the needed stages that are done. `taken_back` gives for each voided check-in
    the void. `last_at` is the effective time of the last check-in that stands.
    """

    stages: Mapping[str, StageState]
    breaches: tuple[Breach, ...]
    conflicts: tuple[Conflict, ...]
    holds: tuple[HoldState, ...]
    taken_back: Mapping[str, str]
    next_stage: str | None
    next_trade: str | None
    other_trades: tuple[str, ...]
    ready: tuple[str, ...]
    remaining_path: tuple[str, ...]
    earned: int
    total: int
    last_at: int | None

    def to_dict(self) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "stages": {code: stage.to_dict() for code, stage in self.stages.items()},
            "breaches": [breach.to_dict() for breach in self.breaches],
            "conflicts": [conflict.to_dict() for conflict in self.conflicts],
            "holds": [hold.to_dict() for hold in self.holds],
            "taken_back": dict(self.taken_back),
            "next_stage": self.next_stage,
            "next_trade": self.next_trade,
            "other_trades": list(self.other_trades),
            "ready": list(self.ready),
            "remaining_path": list(self.remaining_path),
            "earned": self.earned,
            "total": self.total,
            "last_at": self.last_at,
        }
