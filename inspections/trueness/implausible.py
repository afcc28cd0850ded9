"""Patterns in checks that no honest tape gives. They are questions to ask, with their evidence; nobody is accused.

Three patterns: the same set of readings at several openings, checks logged faster than a frame can be measured, and
readings of one person that never vary. A true frame reads zero in many places, so zeros alone prove nothing: sets are
compared only where something was read off zero. Widths, gaps and foot gaps are made to one size, and honest tapes find
them alike at door after door; only what a frame is off by is looked at.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sitetrack.kit.lengths import Length

# Common practice, no publication: seven readings with a level, a plumb line and a tape.
FASTEST_CHECK_MS = 3 * 60_000
SAME_SET_OPENINGS = 3
NEVER_VARIES_CHECKS = 10
LEAST_READINGS = 4
OFF_BY = frozenset(
    {
        "hinge_plumb_side", "strike_plumb_side", "hinge_plumb_face", "strike_plumb_face", "head_level", "squareness",
        "alignment", "twist",
    }
)  # fmt: skip


class Pattern(StrEnum):
    """What was noticed."""

    SAME_SET = "same_set"
    TOO_FAST = "too_fast"
    NEVER_VARIES = "never_varies"


@dataclass(frozen=True, slots=True)
class LoggedCheck:
    """One check as it was logged: where, by whom, when (milliseconds since 1970 by the corrected clock), what."""

    id: str
    opening: str
    person: str
    at: int
    lengths: Mapping[str, Length]


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask about: the pattern, whom, the checks it shows in, and the figures behind it."""

    pattern: Pattern
    person: str
    checks: tuple[str, ...]
    openings: tuple[str, ...]
    evidence: Mapping[str, str | int]


def questions(checks: Iterable[LoggedCheck]) -> list[Question]:
    """Look through checks, in any order, and list what to ask; the same checks always give the same list."""
    ordered = sorted(checks, key=lambda check: (check.person, check.at, check.id))
    by_person: dict[str, list[LoggedCheck]] = defaultdict(list)
    for check in ordered:
        by_person[check.person].append(check)
    found: list[Question] = []
    for person, theirs in by_person.items():
        found += _same_sets(person, theirs)
        found += _too_fast(person, theirs)
        found += _never_vary(person, theirs)
    return found


def _same_sets(person: str, checks: Sequence[LoggedCheck]) -> list[Question]:
    sets: dict[tuple[tuple[str, Length], ...], list[LoggedCheck]] = defaultdict(list)
    for check in checks:
        off_by = [length for name, length in check.lengths.items() if name in OFF_BY]
        if len(off_by) >= LEAST_READINGS and any(off_by):
            sets[tuple(sorted(check.lengths.items()))].append(check)
    return [
        _question(Pattern.SAME_SET, person, same, {"readings": len(read), "openings": len(_openings(same))})
        for read, same in sets.items()
        if len(_openings(same)) >= SAME_SET_OPENINGS
    ]


def _too_fast(person: str, checks: Sequence[LoggedCheck]) -> list[Question]:
    """One question for each unbroken run of checks too close together, at different openings."""
    found: list[Question] = []
    run: list[LoggedCheck] = []
    for check in checks:
        if run and (check.at - run[-1].at >= FASTEST_CHECK_MS or check.opening == run[-1].opening):
            found += _run(person, run)
            run = []
        if len(check.lengths) >= LEAST_READINGS:
            run.append(check)
    return found + _run(person, run)


def _run(person: str, run: Sequence[LoggedCheck]) -> list[Question]:
    if len(run) < 2:
        return []
    seconds = (run[-1].at - run[0].at) // 1000
    return [_question(Pattern.TOO_FAST, person, run, {"checks": len(run), "seconds": seconds})]


def _never_vary(person: str, checks: Sequence[LoggedCheck]) -> list[Question]:
    """Measures off zero that one person reads alike at many openings in a row."""
    values: dict[str, list[tuple[LoggedCheck, Length]]] = defaultdict(list)
    for check in checks:
        for name in OFF_BY & check.lengths.keys():
            values[name].append((check, check.lengths[name]))
    found = []
    for name, read in sorted(values.items()):
        alike = {length for _, length in read}
        members = [check for check, _ in read]
        if len(alike) == 1 and len(_openings(members)) >= NEVER_VARIES_CHECKS and any(alike):
            found.append(
                _question(Pattern.NEVER_VARIES, person, members, {"reading": name, "openings": len(_openings(members))})
            )
    return found


def _openings(checks: Iterable[LoggedCheck]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(check.opening for check in checks))


def _question(
    pattern: Pattern, person: str, checks: Sequence[LoggedCheck], evidence: Mapping[str, str | int]
) -> Question:
    return Question(pattern, person, tuple(check.id for check in checks), _openings(checks), evidence)
