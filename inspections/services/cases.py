"""Everything the fold and the alert rules need of a set of openings, in a fixed number of queries."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.db.models.fields.json import KeyTransform

from inspections.models import CheckIn, FrameCheck
from inspections.rules.findings import Case
from inspections.selectors.facts import facts_of
from openings.models import Opening, ScheduleChange
from openings.selectors.plans import attributes_of, prepared_plan
from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.state import OpeningState
from sitetrack.kit.clock import to_ms


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """One opening with its fold and what its rules may look at."""

    opening: Opening
    state: OpeningState
    case: Case


def work_out_cases(opening_ids: Iterable[Any], plan: Plan | None = None) -> list[WorkedOut]:
    """Fold each opening's check-ins by its plan, or all by `plan`; five queries however many openings."""
    ids = list(opening_ids)
    openings = list(Opening.objects.filter(pk__in=ids).select_related("wall").order_by("pk"))
    facts = facts_of(ids)
    plans = {key: plan or prepared_plan(key) for key in {opening.plan_id for opening in openings}}
    spreaders = _spreaders_out(openings, plans)
    changes = _schedule_changes(ids)
    contradictory = _contradictory(ids)
    cases = []
    for opening in openings:
        followed = plans[opening.plan_id]
        own = facts.get(opening.pk, [])
        state = fold(followed, attributes_of(opening, opening.wall.kind if opening.wall else ""), own)
        by_id = {fact.id: fact for fact in own}
        case = Case(
            plan=followed,
            state=state,
            facts=by_id,
            spreaders_out=[by_id[id_] for id_ in spreaders.get(opening.pk, ()) if id_ in by_id],
            schedule_changes=changes.get(opening.pk, ()),
            contradictory=contradictory.get(opening.pk, ()),
        )
        cases.append(WorkedOut(opening, state, case))
    return cases


def _spreaders_out(openings: Sequence[Opening], plans: Mapping[UUID, Plan]) -> dict[UUID, list[str]]:
    """Check-ins that gave the wrong answer to a question by which their plan tells that the spreaders are in."""
    asked = {key: _spreader_questions(plan) for key, plan in plans.items()}
    plan_of = {opening.pk: opening.plan_id for opening in openings}
    right = sorted({question[1:] for questions in asked.values() for question in questions})
    if not right:
        return {}
    # A question's code is data, and may read like a lookup of the data base; so it is never made part of a name.
    answers = {f"answer_{number}": KeyTransform(code, "answers") for number, (code, _) in enumerate(right)}
    wrong = Q()
    for name, (_, expected) in zip(answers, right, strict=True):
        wrong |= Q(**{name: not expected})
    rows = CheckIn.objects.filter(opening__in=plan_of).alias(**answers).filter(wrong).order_by()
    out: dict[UUID, list[str]] = {}
    for opening, id_, stage, given in rows.values_list("opening_id", "id", "stage", "answers"):
        if any(given.get(code) is (not expected) for s, code, expected in asked[plan_of[opening]] if s == stage):
            out.setdefault(opening, []).append(str(id_))
    return out


def _spreader_questions(plan: Plan) -> frozenset[tuple[str, str, bool]]:
    """Stage, code and right answer of each question about the spreaders."""
    return frozenset(
        (stage.code, item.code, item.expect)
        for stage in plan.stages
        for item in stage.checklist
        if item.proves_spreaders
    )


def _schedule_changes(ids: Sequence[Any]) -> dict[UUID, list[tuple[int, str, str, str, int]]]:
    rows = ScheduleChange.objects.filter(opening__in=ids, kind=ScheduleChange.Kind.CHANGED).order_by("id")
    changes: dict[UUID, list[tuple[int, str, str, str, int]]] = {}
    for opening, id_, field, before, after, at in rows.values_list(
        "opening_id", "id", "field", "before", "after", "at"
    ):
        changes.setdefault(opening, []).append((id_, field, before, after, to_ms(at)))
    return changes


def _contradictory(ids: Sequence[Any]) -> dict[UUID, list[tuple[str, int, list[Any]]]]:
    rows = FrameCheck.objects.filter(opening__in=ids, judged__contradictions__0__isnull=False).order_by()
    found: dict[UUID, list[tuple[str, int, list[Any]]]] = {}
    for opening, id_, at, judged in rows.values_list("opening_id", "check_in_id", "read_at", "judged"):
        found.setdefault(opening, []).append((str(id_), to_ms(at), judged["contradictions"]))
    return found
