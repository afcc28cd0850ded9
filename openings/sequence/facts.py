"""Check-ins as facts, and the one order they are read in, whatever order they arrived in.

Times are milliseconds since 1970-01-01 UTC. Three things happen before the walk, in this order.

Once each. The same check-in may arrive many times; its id makes it one.

Taken back. A `void` names in `about` the check-in it takes back, and may do so for its own company's check-ins, or for
anybody's when a supervisor sends it. Both leave the facts before any time is worked out, so that a mistake taken back
leaves the opening exactly as if it had never been made. A void itself cannot be taken back.

Put in order. A phone's clock may be wrong, so the server corrects each time when the check-in arrives. Two things are
surer than any clock: nothing happened after it was received, and on one phone what has the higher counter happened
later. So along one phone's counter no time may pass the receipt of that check-in or of any later one, and none may run
behind the one before it. Facts are then sorted by that effective time, phone, counter and id, which never ties.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from openings.sequence.stage import Role
from openings.sequence.state import Conflict, ConflictCode, Plain


class Action(StrEnum):
    """What a check-in says has happened."""

    START = "start"
    FINISH = "finish"
    FAIL = "fail"
    SIGN = "sign"
    HOLD = "hold"
    RELEASE = "release"
    NOTE = "note"
    VOID = "void"


class Verdict(StrEnum):
    """What the server decided of a reading; the phone's own word for it is only a preview."""

    PASS = "pass"  # noqa: S105  # a verdict, not a password
    FAIL = "fail"
    INCOMPLETE = "incomplete"


@dataclass(frozen=True, slots=True)
class Fact:
    """One stored check-in, with what the fold needs of it.

    `corrected` and `received` are milliseconds since 1970-01-01 UTC, `uncertainty` is milliseconds either way.
    `counter` is the phone's own, None where there is no phone. `role` and `company` are those of the person who
    reported it, at the time. `waives` marks a signature that lets a failed reading stand, for the reason in
    `note`; `needs_another` one that counts only for a reading by another person.
    """

    id: str
    stage: str
    action: str
    corrected: int
    received: int
    uncertainty: int = 0
    device: str = ""
    counter: int | None = None
    about: str | None = None
    verdict: str | None = None
    role: str = Role.CREW
    company: str = ""
    person: str = ""
    note: str = ""
    waives: bool = False
    needs_another: bool = False


# Effective time, device, counter (-1 for none), id: the order of the walk. The fact rides along and never decides.
Placed = tuple[int, str, int, str, Fact]


def live_facts(facts: Iterable[Fact]) -> tuple[dict[str, Fact], dict[str, str], list[Conflict]]:
    """Return the facts that stand, by id; which void took back which fact; and the voids that took nothing back."""
    standing: dict[str, Fact] = {}
    voids: dict[str, Fact] = {}
    for fact in facts:
        held = voids if fact.action == Action.VOID else standing
        known = held.setdefault(fact.id, fact)
        if known is not fact and known != fact:
            # The server refuses other content under a known id. Should it ever be stored, any fixed choice will do.
            held[fact.id] = min(known, fact, key=repr)
    taken_back: dict[str, str] = {}
    conflicts: list[Conflict] = []
    for void in sorted(voids.values(), key=lambda void: void.id):
        about = void.about or ""
        if about in voids:
            conflicts.append(Conflict(ConflictCode.VOID_OF_VOID, void.id, {"about": about}))
        elif (target := standing.get(about)) is None:
            conflicts.append(Conflict(ConflictCode.VOID_OF_NOTHING, void.id, {"about": about}))
        elif may_undo(void, target):
            taken_back.setdefault(about, void.id)
        else:
            conflicts.append(Conflict(ConflictCode.VOID_NOT_ALLOWED, void.id, {"about": about}))
    for about in taken_back:
        del standing[about]
    return standing, taken_back, conflicts


def may_undo(undoing: Fact, target: Fact) -> bool:
    """Whether one check-in may undo another: a supervisor's always, else one of the same company.

    A signature is its signer's own: no colleague takes it back.
    """
    if undoing.role == Role.SUPERVISOR:
        return True
    if target.action == Action.SIGN:
        return undoing.person == target.person != ""
    return undoing.company == target.company != ""


def in_order(facts: Iterable[Fact]) -> tuple[list[Placed], list[Conflict]]:
    """Return the facts with their effective times in the order of the walk, and any counters used twice."""
    placed: list[Placed] = []
    by_device: dict[str, list[tuple[int, str, Fact]]] = {}
    for fact in facts:
        if fact.counter is None:
            placed.append((min(fact.corrected, fact.received), fact.device, -1, fact.id, fact))
        else:
            by_device.setdefault(fact.device, []).append((fact.counter, fact.id, fact))
    conflicts: list[Conflict] = []
    for device, run in by_device.items():
        run.sort()
        placed += _effective(device, run)
        for (counter, first, _), (again, second, _) in pairwise(run):
            if counter == again:
                params: dict[str, Plain] = {"device": device, "counter": counter, "other": first}
                conflicts.append(Conflict(ConflictCode.COPIED_COUNTER, second, params))
    placed.sort()
    return placed, conflicts


def _effective(device: str, run: list[tuple[int, str, Fact]]) -> list[Placed]:
    """Effective times along one phone's counter: capped by this and every later receipt, then never falling."""
    caps: list[int] = []
    cap = run[-1][2].received
    for _, _, fact in reversed(run):
        cap = min(cap, fact.received)
        caps.append(cap)
    placed: list[Placed] = []
    latest = min(run[0][2].corrected, caps[-1])
    for (counter, id_, fact), cap in zip(run, reversed(caps), strict=True):
        latest = max(latest, min(fact.corrected, cap))
        placed.append((latest, device, counter, id_, fact))
    return placed
