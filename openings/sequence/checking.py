"""What makes a plan unsound, each fault said in words that name the stages it runs through."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence

from openings.sequence.conditions import can_be_true
from openings.sequence.fault_words import FAULTS, PlanProblem, path_of, say
from openings.sequence.stage import MARKS_OF_CHECKS, MARKS_OF_WORK, Kind, Stage
from openings.sequence.structure import untangle

MOST_STAGES = 100


class PlanError(ValueError):
    """A plan that cannot be used, with every fault found in it."""

    def __init__(self, problems: Sequence[PlanProblem]) -> None:
        """Keep the problems and say them all."""
        self.problems = tuple(problems)
        super().__init__("; ".join(problem.words for problem in problems))


def problems_of(stages: Sequence[Stage], readings: Collection[str] | None = None) -> list[PlanProblem]:
    """Return every fault of these stages taken as a plan, in plan order within each kind; empty for a sound plan.

    `readings` are the names of readings that can be taken; without them, required readings are not checked.
    """
    if not stages:
        return [PlanProblem("no stages", "", FAULTS["no stages"])]
    if len(stages) > MOST_STAGES:
        words = say(FAULTS, "too many stages", count=len(stages), most=MOST_STAGES)
        return [PlanProblem("too many stages", "", words)]
    wrong_readings = [] if readings is None else _faults_of_readings(stages, readings)
    return [*_repeated(stages), *_faults_alone(stages), *wrong_readings, *_faults_of_the_graph(stages)]


def _problem(code: str, stage: str, kind: str = "", **told: object) -> PlanProblem:
    """A fault of a stage; `kind` where the same code is said in several ways."""
    return PlanProblem(code, stage, say(FAULTS, kind or code, stage=stage, **told))


def _repeated(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    for code, count in Counter(stage.code for stage in stages).items():
        if count > 1:
            yield _problem("duplicate code", code, count=count)


def _faults_of_readings(stages: Sequence[Stage], readings: Collection[str]) -> Iterator[PlanProblem]:
    for stage in stages:
        if stage.kind is Kind.WORK and stage.required_readings:
            yield _problem("readings of work", stage.code)
        for reading in stage.required_readings:
            if reading not in readings:
                yield _problem("unknown reading", stage.code, reading=reading)


def _faults_alone(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    """Faults that can be seen in one stage by itself."""
    for stage in stages:
        code = stage.code
        is_work = stage.kind is Kind.WORK
        if stage.weight < 0:
            yield _problem("negative weight", code, weight=stage.weight)
        if stage.hold_point and not stage.sign_roles:
            yield _problem("unsigned hold point", code)
        if is_work and (stage.hold_point or stage.sign_roles or stage.covers):
            yield _problem("work as check", code)
        for mark in stage.marks:
            if mark in (MARKS_OF_CHECKS if is_work else MARKS_OF_WORK):
                yield _problem("wrong mark", code, "mark of a check" if is_work else "mark of work", mark=mark.value)
        if len({item.code for item in stage.checklist}) < len(stage.checklist):
            yield _problem("duplicate checklist code", code)
        if stage.applies_when is not None and not can_be_true(stage.applies_when):
            yield _problem("unreachable stage", code, "condition of no opening")


def _faults_of_the_graph(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    after = {stage.code: stage.after for stage in stages}
    checks = {stage.code for stage in stages if stage.kind is Kind.CHECK}
    for stage in stages:
        for kind, named in (("waits for unknown", stage.after), ("covers unknown", stage.covers)):
            for other in named:
                if other not in after:
                    yield _problem("unknown stage", stage.code, kind, other=other)
    blocked = {code for code, befores in after.items() if not after.keys() >= set(befores)}
    for ring in _rings(after):
        blocked |= set(ring)
        yield _problem("cycle", ring[0], path=path_of([*ring, ring[0]]))
    yield from _cut_off(after, blocked)
    for stage in stages:
        before = _paths_back(after, stage.code)
        for other in stage.covers:
            if other in after and other not in before:
                yield _problem("covers what comes later", stage.code, other=other)
            if other in checks:
                yield _problem("covers a check", stage.code, other=other)


def _rings(after: Mapping[str, Sequence[str]]) -> Iterator[list[str]]:
    """Yield rings of stages waiting for each other, no two sharing a stage, until none is left."""
    _, tangled = untangle(after)
    while tangled:
        # Every tangled stage waits for a tangled one, so following them must come back to a stage already passed.
        walked = [tangled[0]]
        while (onward := next(code for code in after[walked[-1]] if code in tangled)) not in walked:
            walked.append(onward)
        ring = walked[walked.index(onward) :]
        first = ring.index(min(ring, key=tangled.index))
        yield ring[first:] + ring[:first]
        _, tangled = untangle({code: after[code] for code in tangled if code not in ring})


def _cut_off(after: Mapping[str, Sequence[str]], blocked: set[str]) -> Iterator[PlanProblem]:
    """Stages that wait, through others, for a stage that can never be done."""
    for code in after:
        if code in blocked:
            continue
        paths = _paths_back(after, code)
        walls = [other for other in paths if other in blocked]
        if walls:
            yield _problem("unreachable stage", code, "behind a cycle", path=path_of(paths[walls[0]]))


def _paths_back(after: Mapping[str, Sequence[str]], start: str) -> dict[str, list[str]]:
    """For every stage that `start` waits for, a shortest path to it, `start` first; nearest stages first."""
    paths: dict[str, list[str]] = {}
    frontier = [[start]]
    while frontier:
        longer = []
        for path in frontier:
            for before in after.get(path[-1], ()):
                if before in after and before not in paths:
                    paths[before] = [*path, before]
                    longer.append(paths[before])
        frontier = longer
    return paths
