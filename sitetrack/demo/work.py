"""The demo job, day by day: every hand takes the next opening that is ready for its trade, in walking order.

A stage becomes ready when the server knows that all it waits for is done, as on the list a crew reads on its phone. So
nothing runs ahead of a hold point here, except where a script of story.py makes it.
"""

import heapq
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random
from uuid import UUID

from openings.sequence.stage import Kind
from sitetrack.demo import measuring
from sitetrack.demo.crews import (
    BY_WORKER,
    HOLDS,
    HOLDS_SHARE,
    MENDED,
    MINUTES,
    NOTES,
    NOTES_SHARE,
    READ_TO_FAIL,
    SHARE_TOLD,
    SIGN,
    STARTS_TOLD,
    WORKERS,
    Worker,
)
from sitetrack.demo.days import JobDays
from sitetrack.demo.entries import Entry, Frame, Logged, Said, seeded_id
from sitetrack.demo.names import BY_KEY, SUPERVISOR
from sitetrack.demo.phones import DROWNED, SPARE, Airtime

LOOK_AGAIN = timedelta(minutes=15)
WALK = (1, 5)
# The job goes at the pace of about eight openings a day, or all of them in six weeks; what is left of a hand's time
# goes to the rest of the building.
USUAL_COUNT, BEAT = 244, 28
SHORT_DUTIES = frozenset({"receive", "match", "ffl", "recheck", "fix", "final"})
FINALS_MISSED = 0.07
DRAGS = "Drags at the strike, low down. Hanger to look at the bottom hinge"
GAPS = ("gap_hinge", "gap_strike_head", "gap_strike_mid", "gap_strike_floor", "gap_head_hinge", "gap_head_strike")

NOTHING_MORE = Said()

Script = Callable[["Job", Frame, datetime], None]


@dataclass(slots=True)
class Job:
    """The site while it is being simulated. `gates`: when a stage may begin on a floor at the earliest."""

    days: JobDays
    airtime: Airtime
    frames: Sequence[Frame]
    gates: Callable[[str, str], datetime]
    scripts: Mapping[tuple[str, str], Script]
    spare_from: datetime
    rng: Random
    entries: list[Entry] = field(default_factory=list)
    ready: dict[str, list[tuple[datetime, Frame]]] = field(default_factory=dict)
    readings: dict[tuple[str, str], UUID] = field(default_factory=dict)

    def run(self) -> list[Entry]:
        """Work until the last moment; every check-in made by then, in order of time."""
        for frame in self.frames:
            for code, before in frame.structure.prerequisites.items():
                if not before:
                    self.release(frame, code, self.days.at(self.days.days[0], "06:00"))
        begin = self.days.at(self.days.days[0], "06:30")
        hands = [(begin, number) for number in range(len(WORKERS))]
        while hands:
            free, number = heapq.heappop(hands)
            worker = WORKERS[number]
            now = self.days.slot(free, 1, worker.weekdays)
            if now is None or now > self.days.until:
                continue
            heapq.heappush(hands, (self._turn(worker, now), number))
        # A stable sort: what one hand logged at one moment stays in the order it was logged.
        self.entries.sort(key=lambda entry: entry.at)
        return [entry for entry in self.entries if entry.at <= self.days.until]

    def release(self, frame: Frame, stage: str, at: datetime) -> None:
        """Put a stage on its trade's list from `at`, or hand it to its script."""
        at = max(at, self.gates(stage, frame.floor))
        script = self.scripts.get((frame.number, stage))
        if script is None:
            self.offer(frame, stage, at)
        elif at <= self.days.until:
            script(self, frame, at)

    def offer(self, frame: Frame, duty: str, at: datetime) -> None:
        """Put a duty on its trade's list from `at`, script or no script."""
        self.ready.setdefault(duty, []).append((at, frame))

    def log(self, by: str, frame: Frame, stage: str, action: str, at: datetime, said: Said = NOTHING_MORE) -> Logged:
        """Have someone report. Finished work and checks carry the answers that are right, unless others are said."""
        phone = BY_WORKER[by].phone
        if phone == DROWNED and at >= self.spare_from:
            phone = SPARE
        if action in {"finish", "fail"}:
            right = {item.code: item.expect for item in frame.structure.stages[stage].checklist}
            said = replace(said, answers=right | dict(said.answers))
        entry = Entry(seeded_id(at, self.rng), phone, at, said.opening or frame.number, stage, action, said)
        self.entries.append(entry)
        return Logged(entry.id, self.airtime.receipt(phone, at))

    def complete(self, frame: Frame, stage: str, known: datetime | None) -> None:
        """Note that the server knows a stage to be done, and offer what waited for it."""
        if known is None:
            return
        frame.known[stage] = known
        for later in frame.structure.followers[stage]:
            waits_for = frame.structure.prerequisites[later]
            if later not in frame.known and all(code in frame.known for code in waits_for):
                self.release(frame, later, max(frame.known[code] for code in waits_for))

    def await_signature(self, frame: Frame, stage: str, reading: Logged) -> None:
        """Put a passing reading on the signers' list."""
        self.readings[frame.number, stage] = reading.id
        if reading.known is not None:
            self.offer(frame, SIGN + stage, reading.known)

    def note(self, by: str, words: tuple[str, str]) -> str:
        """One of two texts, in the language of who writes."""
        return words[BY_KEY[by].language == "es"]

    # --- one hand's turn ------------------------------------------------------------------------------------------

    def _turn(self, worker: Worker, now: datetime) -> datetime:
        """Do the next thing, if there is any; returns when the hand is free again."""
        for duty in worker.duties:
            offered = self.ready.get(duty, [])
            open_now = [o for o in offered if o[0] <= now and self._may(worker, duty, o[1])]
            if open_now:
                chosen = min(open_now, key=lambda offer: offer[1].place)
                offered.remove(chosen)
                return self._do(worker, duty, chosen[1], now)
        return now + LOOK_AGAIN

    def _may(self, worker: Worker, duty: str, frame: Frame) -> bool:
        if duty in {"recheck", "fix"}:
            return frame.boarded_by == worker.key
        if duty == SIGN + "trueness":
            return not frame.rated or worker.key == "kofi"
        return True

    def _do(self, worker: Worker, duty: str, frame: Frame, now: datetime) -> datetime:
        minutes = self.rng.uniform(*MINUTES[duty])
        begin = self.days.slot(now, minutes, worker.weekdays) or now
        finish = begin + timedelta(seconds=round(minutes * 60))
        if duty in HOLDS and self.rng.random() < HOLDS_SHARE:
            self._hold(worker, duty, frame, begin + timedelta(minutes=3))
            return begin + timedelta(minutes=8)
        if duty.startswith(SIGN):
            self._sign(worker, duty.removeprefix(SIGN), frame, finish)
        elif frame.structure.stages[duty].kind is Kind.CHECK:
            self._check(worker, duty, frame, finish)
        else:
            self._work(worker, duty, frame, begin, finish)
        away = self.rng.uniform(*WALK)
        if duty not in SHORT_DUTIES and not duty.startswith(SIGN):
            away += max(0.0, BEAT * USUAL_COUNT / len(self.frames) - minutes) * self.rng.uniform(0.5, 1.5)
        return finish + timedelta(minutes=away)

    def _hold(self, worker: Worker, stage: str, frame: Frame, at: datetime) -> None:
        """Something small is in the way; the supervisor has it mended within a day or two."""
        held = self.log(worker.key, frame, stage, "hold", at, Said(note=self.note(worker.key, HOLDS[stage])))
        freed = self.days.later(at, self.rng.choice((1, 1, 2)), self.rng.choice(("08:20", "10:50", "13:15")))
        release = self.log(SUPERVISOR, frame, stage, "release", freed, Said(about=held.id, note="Mended, go on"))
        if release.known is not None:
            self.offer(frame, stage, release.known)

    def _work(self, worker: Worker, stage: str, frame: Frame, begin: datetime, finish: datetime) -> None:
        if stage == "board":
            frame.boarded_by = worker.key
        note = ""
        if stage in NOTES and self.rng.random() < NOTES_SHARE:
            note = self.note(worker.key, self.rng.choice(NOTES[stage]))
        if stage in STARTS_TOLD and self.rng.random() < SHARE_TOLD:
            self.log(worker.key, frame, stage, "start", begin)
        finished = self.log(worker.key, frame, stage, "finish", finish, Said(note=note))
        self.complete(frame, stage, finished.known)

    def _sign(self, worker: Worker, stage: str, frame: Frame, at: datetime) -> None:
        reading = self.readings[frame.number, stage]
        signed = self.log(worker.key, frame, stage, "sign", at, Said(about=reading))
        self.complete(frame, stage, signed.known)

    def _check(self, worker: Worker, stage: str, frame: Frame, at: datetime) -> None:
        if stage in {"trueness", "recheck"}:
            self._read(worker, stage, frame, at)
        elif stage == "final":
            self._final(worker, frame, at)
        else:
            checked = self.log(worker.key, frame, stage, "finish", at)
            self.complete(frame, stage, checked.known)

    def _read(self, worker: Worker, stage: str, frame: Frame, at: datetime) -> None:
        """Read a frame; what fails is moved and read again, on the next day at the latest."""
        again = frame.misses.get(stage, 0) > 0
        readings = self._as_read(worker, stage, frame, again=again)
        if self.passes(frame, stage, readings):
            note = self.note(worker.key, MENDED) if again else ""
            read = self.log(worker.key, frame, stage, "finish", at, Said(readings=readings, note=note))
            self.await_signature(frame, stage, read)
            return
        frame.misses[stage] = 1
        note = self.note(worker.key, READ_TO_FAIL)
        self.log(worker.key, frame, stage, "finish", at, Said(readings=readings, note=note))
        soon = at + timedelta(minutes=self.rng.uniform(40, 120))
        later = self.days.later(at, 1, "07:30")
        self.offer(frame, stage, soon if stage == "trueness" and self.rng.random() < 0.5 else later)

    def _as_read(self, worker: Worker, stage: str, frame: Frame, *, again: bool) -> measuring.Readings:
        """A crew looks before it writes: only what was forgotten, or driven out, is read as it stands."""
        missed = not again and self.rng.random() < worker.misses
        if stage == "trueness":
            frame.stance = measuring.set_frame(self.rng)
            if missed:
                frame.stance = measuring.knocked(frame.stance, self.rng)
        else:
            frame.stance = measuring.pushed(frame.stance, self.rng, hard=worker.drives_board and not again)
        if missed or (stage == "recheck" and not again):
            return measuring.read(frame.stance, frame.opening, self.rng)
        return self.read_true(frame, stage)

    def read_true(self, frame: Frame, stage: str) -> measuring.Readings:
        """Readings of a frame that is put right first, if it has to be."""
        required = frame.structure.stages[stage].required_readings
        frame.stance, readings = measuring.read_true(frame.stance, frame.opening, self.rng, required)
        return readings

    def passes(self, frame: Frame, stage: str, readings: measuring.Readings) -> bool:
        """What the hand's phone previews."""
        return measuring.passes(readings, frame.opening, frame.structure.stages[stage].required_readings)

    def _final(self, worker: Worker, frame: Frame, at: datetime) -> None:
        gaps = {name: self.rng.choice(("3/32", "1/8", "1/8", "1/8", "5/32")) for name in GAPS}
        if not frame.misses.get("final") and self.rng.random() < FINALS_MISSED:
            frame.misses["final"] = 1
            said = Said(readings=gaps | {"gap_strike_floor": "1/32"}, answers={"swings_and_latches": False}, note=DRAGS)
            self.log(worker.key, frame, "final", "finish", at, said)
            self.offer(frame, "final", self.days.later(at, 2, "10:00"))
            return
        self.await_signature(frame, "final", self.log(worker.key, frame, "final", "finish", at, Said(readings=gaps)))
