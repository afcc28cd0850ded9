"""A drawn sequence plan before it counts: its faults in words, and what it would make of the real site."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Count, F

from inspections.models import Alert, CheckIn
from inspections.models.alerts import ClosedHow
from inspections.rules.table import OPENING_RULES
from inspections.services.alerts import Key
from inspections.services.cases import WorkedOut, work_out_cases
from inspections.services.earlier_plans import keys_found
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from openings.models import PlanDraft, SequencePlan
from openings.sequence.checking import problems_of
from openings.sequence.fault_words import PlanProblem
from openings.sequence.plan import Plan
from openings.sequence.plan_document import PlanSheet, read_plan, read_sheet
from openings.sequence.remarks import remarks_on
from openings.sequence.state import State
from openings.services.plans import followers, install_draft
from sitetrack.access.models import Person
from sitetrack.kit.one_moment import one_moment

READINGS = (*MEASURES, FLOOR_RISE)
# A preview folds each opening twice; this many are answered while one waits for a page, and what is left out is said.
MOST_LOOKED_AT = 1000
CHUNK = 200
MOST_EXAMPLES = 20
NOT_IN_PLAN = ""


@dataclass(frozen=True, slots=True)
class Checked:
    """What is wrong with a draft, and what it leaves unwatched."""

    problems: tuple[PlanProblem, ...]
    remarks: tuple[PlanProblem, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """One opening that would stand differently: its number, and stage by stage how; '' for a stage a plan lacks."""

    number: str
    stages: tuple[tuple[str, str, str], ...]


@dataclass(slots=True)
class PlanPreview:
    """What a draft would change. `changes` counts by (stage, before, after); rules by code; `unused` by stage.

    `in_all` openings follow the plan, `looked_at` of them were folded by both. `unused` counts the check-ins of the
    whole site that name a stage the draft does not have.
    """

    in_all: int = 0
    looked_at: int = 0
    changed: int = 0
    become_ready: int = 0
    become_outdated: int = 0
    set_back: int = 0
    changes: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    examples: list[Moved] = field(default_factory=list)
    raised: Counter[str] = field(default_factory=Counter)
    closed: Counter[str] = field(default_factory=Counter)
    unused: Counter[str] = field(default_factory=Counter)


def check_sheet(sheet: PlanSheet) -> Checked:
    """What is wrong with a plan as drawn; what it leaves unwatched is said once nothing is wrong."""
    problems = problems_of(sheet.stages, READINGS)
    return Checked(tuple(problems), () if problems else tuple(remarks_on(sheet.stages)))


def install(*, draft: PlanDraft, based_on: int, why: str, who: Person, now: datetime) -> tuple[SequencePlan, list[Any]]:
    """Make the draft the version in force; gives it and the keys of the openings to work out. Raises `PlanError`."""
    return install_draft(draft=draft, readings=READINGS, based_on=based_on, why=why, who=who, now=now)


def preview_draft(draft: PlanDraft, most: int = MOST_LOOKED_AT) -> PlanPreview:
    """Fold the openings of the plan by the version they follow and by the draft, and tell the differences.

    Those last worked on come first, and at most `most` are looked at. Stores nothing. Raises `PlanError` for an
    unsound draft. All is read as of one moment, so that a check-in arriving meanwhile is not taken for a difference.
    """
    plan = read_plan(draft.document, READINGS)
    with one_moment():
        return _preview(draft, plan, most)


def _preview(draft: PlanDraft, plan: Plan, most: int) -> PlanPreview:
    preview = PlanPreview()
    follow = followers(draft.base)
    preview.in_all = follow.count()
    newest_first = follow.order_by(F("progress__last_at").desc(nulls_last=True), "number")
    ids = list(newest_first.values_list("pk", flat=True)[:most])
    preview.looked_at = len(ids)
    for start in range(0, len(ids), CHUNK):
        _compare(preview, ids[start : start + CHUNK], plan)
    preview.unused = _unused(draft, read_sheet(draft.document))
    return preview


def _compare(preview: PlanPreview, ids: list[Any], plan: Plan) -> None:
    before = {worked.opening.pk: worked for worked in work_out_cases(ids)}
    after = {worked.opening.pk: worked for worked in work_out_cases(ids, plan)}
    for pk in ids:
        if pk in before and pk in after:
            _compare_one(preview, before[pk], after[pk])
    found = {key for worked in after.values() for key in keys_found(worked)}
    known: dict[Key, bool] = {}
    rows = Alert.objects.filter(opening__in=ids, rule__in=[rule.code for rule in OPENING_RULES])
    for opening, rule, cause, closed_at, how in rows.values_list(
        "opening_id", "rule", "cause", "closed_at", "closed_how"
    ):
        # What a person closed stays closed, whatever the rules find.
        if how != ClosedHow.PERSON:
            known[opening, rule, cause] = closed_at is None
        else:
            found.discard((opening, rule, cause))
    preview.raised.update(rule for opening, rule, cause in found if not known.get((opening, rule, cause), False))
    preview.closed.update(key[1] for key, is_open in known.items() if is_open and key not in found)


def _compare_one(preview: PlanPreview, before: WorkedOut, after: WorkedOut) -> None:
    was, will = before.state.stages, after.state.stages
    differences = []
    for code in dict.fromkeys([*will, *was]):
        pair = (str(was[code].state) if code in was else NOT_IN_PLAN, str(will[code].state) if code in will else "")
        if pair[0] != pair[1]:
            differences.append((code, *pair))
    if not differences:
        return
    preview.changed += 1
    preview.changes.update(differences)
    preview.become_ready += any(new == State.READY for _, _, new in differences)
    preview.become_outdated += any(new == State.OUTDATED for _, _, new in differences)
    preview.set_back += any(old == State.DONE and new != State.DONE for _, old, new in differences)
    if len(preview.examples) < MOST_EXAMPLES:
        preview.examples.append(Moved(after.opening.number, tuple(differences)))


def _unused(draft: PlanDraft, sheet: PlanSheet) -> Counter[str]:
    """Check-ins that would count for nothing: they name a stage that was in the plan and is not in the draft."""
    gone = _codes(draft.base.stages) - {stage.code for stage in sheet.stages}
    rows = CheckIn.objects.filter(site=draft.site_id, opening__plan__code=draft.code, stage__in=gone).order_by()
    return Counter(dict(rows.values_list("stage").annotate(count=Count("pk")))) if gone else Counter()


def _codes(stages: Iterable[dict[str, Any]]) -> set[str]:
    return {stage["code"] for stage in stages}
