"""What a sound plan leaves unwatched: not refused, since a site may mean it, but said, since it costs an alert."""

from collections.abc import Iterator, Sequence

from openings.sequence.fault_words import REMARKS, PlanProblem, say
from openings.sequence.stage import Kind, Mark, Stage


def remarks_on(stages: Sequence[Stage]) -> list[PlanProblem]:
    """Return what these stages, a sound plan, leave unwatched; empty where all is watched."""
    return [*_missing_marks(stages), *_unguarded_walls(stages), *_checks_of_nothing(stages)]


def _missing_marks(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    given = {mark for stage in stages for mark in stage.marks}
    for mark, kind in (
        (Mark.STANDS_FRAME, "nothing stands the frame"),
        (Mark.CONFIRMS_FLOOR, "nothing confirms the floor"),
        (Mark.CLOSES_WALL, "nothing closes the wall"),
    ):
        if mark not in given:
            yield PlanProblem(kind, "", REMARKS[kind])
    asked = any(item.proves_spreaders for stage in stages for item in stage.checklist)
    if Mark.PROVES_CLOSED_WALL in given and not asked:
        yield PlanProblem("spreaders unwatched", "", REMARKS["spreaders unwatched"])


def _unguarded_walls(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    by_code = {stage.code: stage for stage in stages}
    for stage in stages:
        if stage.closes_wall and not any(by_code[code].hold_point for code in _all_before(by_code, stage.code)):
            yield _remark("wall closed unchecked", stage.code)


def _checks_of_nothing(stages: Sequence[Stage]) -> Iterator[PlanProblem]:
    """Of a check of the work itself it is worth saying; one before any work, or that starts a line, covers nothing."""
    for stage in stages:
        if stage.kind is Kind.CHECK and stage.required_readings and not stage.covers:
            yield _remark("check covers nothing", stage.code)


def _remark(kind: str, stage: str) -> PlanProblem:
    return PlanProblem(kind, stage, say(REMARKS, kind, stage=stage))


def _all_before(by_code: dict[str, Stage], code: str) -> set[str]:
    seen: set[str] = set()
    todo = [code]
    while todo:
        for before in by_code[todo.pop()].after:
            if before not in seen:
                seen.add(before)
                todo.append(before)
    return seen
