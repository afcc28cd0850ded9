"""Where every stage of an opening stands at one point of the walk, and what each action does to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from openings.sequence.breaches import BreachBook
from openings.sequence.facts import Action, Fact, Verdict, may_undo
from openings.sequence.stage import Role, Stage
from openings.sequence.state import BreachKind, Conflict, ConflictCode
from openings.sequence.structure import Structure


class Phase(Enum):
    """How far one stage is, before anything around it is considered."""

    NOT_BEGUN = 0
    UNDERWAY = 1
    ACHIEVED = 2
    FAILED = 3


@dataclass(slots=True)
class Track:
    """What the walk remembers of one stage.

    `fact` at `at` is its last start, finish or reading. `changed` gives the covered stages that were started, finished
    or read since the last reading, and when first. `offended` names the prerequisites that the present episode has
    already been found to run ahead of; an episode is a start and the finish or reading that follows it.
    """

    stage: Stage
    phase: Phase = Phase.NOT_BEGUN
    fact: Fact | None = None
    at: int = 0
    started_at: int | None = None
    reading: Fact | None = None
    reading_at: int = 0
    signature: Fact | None = None
    signed_at: int = 0
    waiver: Fact | None = None
    changed: dict[str, int] = field(default_factory=dict)
    episode_open: bool = False
    offended: tuple[str, ...] = ()

    @property
    def passed(self) -> bool:
        """Whether it is achieved, by itself or because a failed reading was waived."""
        return self.phase is Phase.ACHIEVED or (self.phase is Phase.FAILED and self.waiver is not None)


class Walk:
    """The stages, holds, breaches and conflicts of one opening while its facts are being walked."""

    def __init__(self, structure: Structure, live: Mapping[str, Fact], conflicts: list[Conflict]) -> None:
        """Start before the first fact; `live` are all the facts that will be walked, by id."""
        self.structure = structure
        self.live = live
        self.conflicts = conflicts
        self.breaches = BreachBook()
        self.tracks: dict[str, Track] = {}
        self.holds: list[tuple[int, Fact]] = []
        self.releases: dict[str, tuple[int, Fact]] = {}
        self.signatures: dict[str, tuple[int, Fact]] = {}
        self.waivers: dict[str, tuple[int, Fact]] = {}

    def track(self, code: str) -> Track | None:
        """Return the track of a needed stage, begun on first use; None for any other."""
        track = self.tracks.get(code)
        if track is None and code in self.structure.prerequisites:
            track = self.tracks[code] = Track(self.structure.stages[code])
        return track

    def start(self, track: Track, fact: Fact, at: int) -> None:
        """Work, or a check, is begun or begun again."""
        track.episode_open = False
        self._judge_order(track, fact, at)
        track.episode_open = True
        track.started_at = at
        self._apply(track, Phase.UNDERWAY, fact, at)

    def finish(self, track: Track, fact: Fact, at: int) -> None:
        """Work is finished, whether or not its start was reported."""
        self._close_episode(track, fact, at)
        self._apply(track, Phase.ACHIEVED, fact, at)
        self.breaches.achieved(track.stage.code, fact, at)

    def read(self, track: Track, fact: Fact, at: int) -> None:
        """A check is read; the verdict is the server's, except that a hand's word that it failed is taken."""
        self._close_episode(track, fact, at)
        phase = Phase.UNDERWAY
        if fact.action == Action.FAIL or fact.verdict == Verdict.FAIL:
            phase = Phase.FAILED
        elif fact.verdict == Verdict.PASS:
            phase = Phase.ACHIEVED
        self._apply(track, phase, fact, at)
        track.reading, track.reading_at = fact, at
        # Only a failed reading is waived: what lets a passing one stand is its pass, whichever clock ran early.
        waived = self.waivers.get(fact.id) if phase is Phase.FAILED else None
        track.waiver = waived[1] if waived else None
        signed = waived or self.signatures.get(fact.id)
        track.signed_at, track.signature = signed or (0, None)
        track.changed.clear()
        if track.passed and not self.outdated_by(track):
            self.breaches.achieved(track.stage.code, fact, at)
            if track.signature is not None:
                self.breaches.signed(track.stage.code, fact, at)

    def sign(self, track: Track, fact: Fact, at: int) -> None:
        """A reading is signed; it need not have been walked yet, and need not be the last one."""
        stage = track.stage
        reading = self.live.get(fact.about or "")
        code = None
        if not stage.sign_roles:
            code = ConflictCode.NOTHING_TO_SIGN
        elif reading is None or reading.stage != stage.code or reading.action not in (Action.FINISH, Action.FAIL):
            code = ConflictCode.SIGNS_NO_READING
        elif not _may_sign(fact, reading, stage):
            code = ConflictCode.SIGNER_NOT_ALLOWED
        if code is not None or reading is None:
            params = {"stage": stage.code, "about": fact.about, "role": fact.role}
            self.conflicts.append(Conflict(code or ConflictCode.SIGNS_NO_READING, fact.id, params))
            return
        self.signatures.setdefault(reading.id, (at, fact))
        if fact.waives:
            self.waivers.setdefault(reading.id, (at, fact))
        if track.reading is reading:
            self._take_signature(track, fact, at)

    def _take_signature(self, track: Track, fact: Fact, at: int) -> None:
        """The last reading is signed; a failed one comes to stand by the first signature that waives it."""
        waived = fact.waives and track.phase is Phase.FAILED and track.waiver is None
        if track.signature is not None and not waived:
            return
        track.signed_at, track.signature = at, fact
        if waived:
            track.waiver = fact
        if track.passed and not self.outdated_by(track):
            if waived:
                self.breaches.achieved(track.stage.code, fact, at)
            self.breaches.signed(track.stage.code, fact, at)

    def hold(self, fact: Fact, at: int) -> None:
        """Something stops the opening."""
        self.holds.append((at, fact))

    def release(self, fact: Fact, at: int) -> None:
        """A hold is lifted; it need not have been walked yet."""
        hold = self.live.get(fact.about or "")
        if hold is None or hold.action != Action.HOLD:
            self.conflicts.append(Conflict(ConflictCode.RELEASE_OF_NOTHING, fact.id, {"about": fact.about}))
        elif not may_undo(fact, hold):
            self.conflicts.append(Conflict(ConflictCode.RELEASE_NOT_ALLOWED, fact.id, {"about": fact.about}))
        else:
            self.releases.setdefault(hold.id, (at, fact))

    def note(self, fact: Fact, at: int) -> None:
        """A remark changes nothing."""

    def stands(self, code: str) -> bool:
        """Whether a needed stage is done and, if it is a check, signed and current."""
        track = self.tracks.get(code)
        return track is not None and self.why_not_standing(track) is None

    def why_not_standing(self, track: Track) -> BreachKind | None:
        """Return the kind of breach it is to go ahead of this stage now, None when it stands."""
        if not track.passed:
            if track.phase is Phase.FAILED:
                return BreachKind.FAILED_CHECK
            return BreachKind.PAST_HOLD_POINT if track.stage.hold_point else BreachKind.OUT_OF_ORDER
        if track.stage.code in self.structure.checks:
            if self.outdated_by(track):
                return BreachKind.CHECK_OUTDATED
            if track.stage.sign_roles and track.signature is None:
                return BreachKind.BEFORE_SIGNED
        return None

    def outdated_by(self, track: Track) -> tuple[str, ...]:
        """Return the covered stages that changed after a check's last reading or are not done at all."""
        covers = self.structure.covers[track.stage.code]
        return tuple(code for code in covers if code in track.changed or not self.stands(code))

    def _close_episode(self, track: Track, fact: Fact, at: int) -> None:
        self._judge_order(track, fact, at)
        if not track.episode_open:
            track.started_at = None
        track.episode_open = False

    def _judge_order(self, track: Track, fact: Fact, at: int) -> None:
        if not track.episode_open:
            track.offended = ()
        for code in self.structure.prerequisites[track.stage.code]:
            before = self.track(code)
            kind = None if before is None else self.why_not_standing(before)
            if before is not None and kind is not None and code not in track.offended:
                track.offended += (code,)
                self.breaches.add(track.stage, before.stage, fact, at, kind, last=before.fact)

    def _apply(self, track: Track, phase: Phase, fact: Fact, at: int) -> None:
        track.phase, track.fact, track.at = phase, fact, at
        for check in self.structure.covered_by[track.stage.code]:
            covering = self.tracks.get(check)
            if covering is not None:
                covering.changed.setdefault(track.stage.code, at)


def _may_sign(signature: Fact, reading: Fact, stage: Stage) -> bool:
    if signature.needs_another and signature.person == reading.person:
        return False
    return signature.role in stage.sign_roles and (not signature.waives or signature.role == Role.SUPERVISOR)
