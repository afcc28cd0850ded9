"""What went wrong at the frame itself: its schedule, its spreaders, its readings."""

from collections.abc import Iterable

from inspections.models.alerts import Severity
from inspections.rules.findings import Case, Finding
from openings.sequence.facts import Action, Verdict
from openings.sequence.stage import Mark

SCHEDULE_CHANGED = "schedule-changed-after-set"
# A change to these makes a frame that already stands the wrong frame, or in the wrong place.
FRAME_FIELDS = {
    "number", "floor", "mark", "width", "height", "leaves", "construction", "hand", "jamb_depth", "wall",
    "rating_minutes", "rating_text", "electrified", "hardware_set", "covering_thickness",
}  # fmt: skip


def schedule_changed_after_set(case: Case) -> Iterable[Finding]:
    """A revision changed the opening after its frame was first set."""
    set_at = min((f.corrected for f in case.marked_facts(Mark.STANDS_FRAME, Action.START, Action.FINISH)), default=None)
    if set_at is None:
        return
    for change, field, before, after, at in case.schedule_changes:
        if field in FRAME_FIELDS and at > set_at:
            evidence = {"field": field, "before": before, "after": after, "set_at": set_at}
            yield Finding(SCHEDULE_CHANGED, f"change:{change}", Severity.CRITICAL, at, evidence)


def spreaders_out_before_recheck(case: Case) -> Iterable[Finding]:
    """The spreaders were gone before the frame was proved again."""
    if not case.marked(Mark.PROVES_CLOSED_WALL):
        return
    proofs = case.marked_facts(Mark.PROVES_CLOSED_WALL, Action.FINISH)
    passed = (f.corrected for f in proofs if f.verdict == Verdict.PASS)
    proved_at = min(passed, default=None)
    for fact in case.spreaders_out:
        taken_back = fact.id in case.state.taken_back
        if not taken_back and (proved_at is None or fact.corrected <= proved_at):
            evidence = {"stage": fact.stage, "fact": fact.id, "company": fact.company}
            yield Finding("spreaders-out-before-recheck", fact.id, Severity.WARNING, fact.corrected, evidence)


def readings_contradict(case: Case) -> Iterable[Finding]:
    """Readings of one check that can't all be right.

    The evidence names the reading to take again and no figures: alerts are read by every crew of the site, readings
    are their own company's.
    """
    for check_in, at, contradictions in case.contradictory:
        if check_in not in case.state.taken_back:
            evidence = {"fact": check_in, "suspect": contradictions[0]["reading"]}
            yield Finding("readings-contradict", check_in, Severity.WARNING, at, evidence)
