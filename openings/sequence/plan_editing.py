"""Changing a plan as it is drawn: putting a stage in, taking one out, without leaving links to nowhere."""

from collections.abc import Iterable
from dataclasses import replace

from openings.sequence.plan_document import PlanSheet
from openings.sequence.stage import Stage


def put_stage(sheet: PlanSheet, stage: Stage, *, following: str | None) -> PlanSheet:
    """Put a stage in, instead of the one of its code if there is one, right after the stage `following` in plan order.

    None, or a code the plan does not have, puts it first. Order only breaks ties: what waits for what decides.
    """
    others = [other for other in sheet.stages if other.code != stage.code]
    place = next((n for n, other in enumerate(others, start=1) if other.code == following), 0)
    return replace(sheet, stages=(*others[:place], stage, *others[place:]))


def take_out(sheet: PlanSheet, code: str) -> PlanSheet:
    """Take a stage out; whoever waited for it waits for what it waited for, and nobody covers it any more."""
    gone = next(stage for stage in sheet.stages if stage.code == code)
    left = []
    for stage in sheet.stages:
        if stage.code == code:
            continue
        after = _once(b for before in stage.after for b in (gone.after if before == code else (before,)))
        covers = tuple(covered for covered in stage.covers if covered != code)
        # A ring may lead back to the stage itself once its middle is gone.
        left.append(replace(stage, after=tuple(b for b in after if b != stage.code), covers=covers))
    return replace(sheet, stages=tuple(left))


def waiting_for(sheet: PlanSheet, code: str) -> list[str]:
    """The codes of the stages that wait for this one directly."""
    return [stage.code for stage in sheet.stages if code in stage.after]


def _once(codes: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(codes))
