"""What makes a plan unsound, each fault said in words that name the stages it runs through."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from openings.sequence.conditions import can_be_true
from openings.sequence.stage import Kind, Stage
from openings.sequence.structure import untangle

MOST_STAGES = 100


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """One fault of a plan: a stable code, the stage it sits in ('' for the plan itself), and the words for it."""

    code: str
    stage: str
    words: str


class PlanError(ValueError):
    """A plan that cannot be used, with every fault found in it."""

    def __init__(self, problems: Sequence[PlanProblem]) -> None:
        """Keep the problems and say them all."""
        self.problems = tuple(problems)
        super().__init__("; ".join(problem.words for problem in problems))


def problems_of(stages: Sequence[Stage]) -> list[PlanProblem]:
    """Return every fault of these stages taken as a plan, in plan order within each kind; empty for a sound plan."""
    if not stages:
        return [PlanProblem("no stages", "", "The plan has no stages: add at least one.")]
    if len(stages) > MOST_STAGES:
        words = f"The plan has {len(stages)} stages, expected at most {MOST_STAGES}: merge or remove some."
        return [PlanProblem("too many stages", "", words)]
    return [*_repeated(stages), *_faults_alone(stages), *_faults_of_the_graph(stages)]


def _repeated(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    for code, count in Counter(stage.code for stage in stages).items():
        if count > 1:
            words = f"Stage code {code!r} is used {count} times: give each stage a code of its own."
            yield PlanProblem("duplicate code", code, words)


def _faults_alone(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    """Faults that can be seen in one stage by itself."""
    for stage in stages:
        code, name = stage.code, f"Stage {stage.code!r}"
        is_work = stage.kind is Kind.WORK
        if stage.weight < 0:
            words = f"{name} has weight {stage.weight}, expected 0 or more."
            yield PlanProblem("negative weight", code, words)
        if stage.hold_point and not stage.sign_roles:
            words = f"{name} is a hold point that nobody signs: name the roles that may sign it."
            yield PlanProblem("unsigned hold point", code, words)
        if is_work and (stage.hold_point or stage.sign_roles or stage.covers):
            words = f"{name} is work, and only a check is signed, is a hold point or covers others: make it a check."
            yield PlanProblem("work as check", code, words)
        if len({item.code for item in stage.checklist}) < len(stage.checklist):
            words = f"{name} has two checklist items of the same code: give each a code of its own."
            yield PlanProblem("duplicate checklist code", code, words)
        if stage.applies_when is not None and not can_be_true(stage.applies_when):
            words = f"{name} can never be reached: its condition is true of no opening."
            yield PlanProblem("unreachable stage", code, words)


def _faults_of_the_graph(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    after = {stage.code: stage.after for stage in stages}
    checks = {stage.code for stage in stages if stage.kind is Kind.CHECK}
    for stage in stages:
        for field, named in (("waits for", stage.after), ("covers", stage.covers)):
            for other in named:
                if other not in after:
                    words = f"Stage {stage.code!r} {field} {other!r}, which the plan does not have: add it or drop it."
                    yield PlanProblem("unknown stage", stage.code, words)
    blocked = {code for code, befores in after.items() if not after.keys() >= set(befores)}
    for ring in _rings(after):
        blocked |= set(ring)
        words = f"{_path([*ring, ring[0]])}: take one of these links out."
        yield PlanProblem("cycle", ring[0], words)
    yield from _cut_off(after, blocked)
    for stage in stages:
        before = _paths_back(after, stage.code)
        for other in stage.covers:
            if other in after and other not in before:
                words = f"Stage {stage.code!r} covers {other!r} but does not wait for it: make it wait, or drop it."
                yield PlanProblem("covers what comes later", stage.code, words)
            if other in checks:
                words = f"Stage {stage.code!r} covers {other!r}, which is a check: cover the work that it checks."
                yield PlanProblem("covers a check", stage.code, words)


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
            words = f"Stage {code!r} can never be reached: {_path(paths[walls[0]])}, which can never be done."
            yield PlanProblem("unreachable stage", code, words)


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


def _path(codes: Sequence[str]) -> str:
    return " waits for ".join(codes)
