"""What went wrong at the frame itself: its schedule, its spreaders, its readings."""

from collections.abc import Iterable

from inspections.models.alerts import Severity
from inspections.rules.findings import Case, Finding

SET = "set"
RECHECK = "recheck"
# A change to these makes a frame that already stands the wrong frame, or in the wrong place.
FRAME_FIELDS = {
    "number", "floor", "mark", "width", "height", "leaves", "construction", "hand", "jamb_depth", "wall",
    "rating_minutes", "rating_text", "electrified", "hardware_set", "covering_thickness",
}  # fmt: skip


def schedule_changed_after_set(case: Case) -> Iterable[Finding]:
    """A revision changed the opening after its frame was set."""
    standing = case.state.stages.get(SET)
    began = standing and (standing.started_at or standing.done_at)
    if not began:
        return
    for change, field, before, after, at in case.schedule_changes:
        if field in FRAME_FIELDS and at > began:
            evidence = {"field": field, "before": before, "after": after, "set_at": began}
            yield Finding("schedule-changed-after-set", f"change:{change}", Severity.CRITICAL, at, evidence)


def spreaders_out_before_recheck(case: Case) -> Iterable[Finding]:
    """The spreaders were gone before the frame was proved again."""
    recheck = case.state.stages.get(RECHECK)
    if recheck is None:
        return
    for fact in case.spreaders_out:
        if fact.id in case.facts and fact.id not in case.state.taken_back:
            evidence = {"stage": fact.stage, "fact": fact.id, "person": fact.person, "company": fact.company}
            yield Finding("spreaders-out-before-recheck", fact.id, Severity.WARNING, fact.corrected, evidence)


def readings_contradict(case: Case) -> Iterable[Finding]:
    """Readings of one check that can't all be right."""
    for check_in, at, contradictions in case.contradictory:
        if check_in not in case.state.taken_back:
            evidence = {"fact": check_in, "contradictions": contradictions}
            yield Finding("readings-contradict", check_in, Severity.WARNING, at, evidence)
