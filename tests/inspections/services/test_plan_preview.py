"""What a drawn plan would make of the real site; and alerts that no stage's name can silence."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import Alert, Progress
from inspections.services.plans import check_sheet, install, preview_draft
from openings.models import Opening, PlanDraft, SequencePlan, Site
from openings.sequence.plan_document import read_sheet
from openings.sequence.plan_editing import take_out
from openings.services.plans import begin_draft, change_draft
from sitetrack.access.roles import Trade
from tests import builders as b

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
LATER = b.MONDAY + timedelta(days=3)
NEW_NAMES = {
    "set": "plant", "ffl": "slab", "recheck": "second_look", "trueness": "first_look", "board": "sheet",
    "spreaders_in": "bars_in",
}  # fmt: skip


@pytest.fixture
def site() -> Site:
    return b.site()


def drafted(site: Site) -> PlanDraft:
    plan = SequencePlan.objects.get(site=site, code="steel_stud", current=True)
    return begin_draft(plan=plan, who=b.supervisor(site), now=LATER)


def without(draft: PlanDraft, *codes: str) -> PlanDraft:
    sheet = read_sheet(draft.document)
    for code in codes:
        sheet = take_out(sheet, code)
    return change_draft(draft=draft, sheet=sheet, based_on=draft.version, who=draft.changed_by, now=LATER)


def renamed(value: Any) -> Any:
    """A plan with stages and a question by other codes."""
    if isinstance(value, dict):
        return {key: renamed(each) for key, each in value.items()}
    if isinstance(value, list):
        return [renamed(each) for each in value]
    return NEW_NAMES.get(value, value) if isinstance(value, str) else value


@pytest.fixture
def renamed_site(site: Site) -> Site:
    for plan in SequencePlan.objects.filter(site=site, code="steel_stud"):
        plan.stages = renamed(plan.stages)
        plan.save()
    return site


def open_rules(opening: Opening) -> set[str]:
    return set(Alert.objects.filter(opening=opening, closed_at=None).values_list("rule", flat=True))


def test_stages_by_other_names_raise_the_same_alerts(renamed_site: Site) -> None:
    opening, chief = b.opening(renamed_site), b.supervisor(renamed_site)
    for n, stage in enumerate(("receive", "match", "layout", "plant")):
        answers = b.MATCH_ANSWERS if stage == "match" else {}
        b.check_in(chief, opening, stage, at=b.MONDAY + n * HOUR, answers=answers)
    b.check_in(chief, opening, "stud", at=b.MONDAY + 5 * HOUR, answers={})
    b.check_in(
        b.crew(renamed_site, Trade.DRYWALL), opening, "sheet", at=b.MONDAY + 6 * HOUR, answers={"bars_in": False}
    )
    assert open_rules(opening) >= {
        "floor-unknown-at-set", "boarded-before-checked", "spreaders-out-before-recheck",
    }  # fmt: skip


def test_a_question_about_spreaders_whose_right_answer_is_no(site: Site) -> None:
    (plan,) = SequencePlan.objects.filter(site=site, code="steel_stud")
    for stage in plan.stages:
        for item in stage.get("checklist", ()):
            if item["code"] == "spreaders_in":
                item |= {"code": "bars__out", "expect": False}
    plan.save()
    opening, drywall = b.opening(site), b.crew(site, Trade.DRYWALL)
    b.check_in(drywall, opening, "board", at=b.MONDAY, answers={"bars__out": False})
    assert "spreaders-out-before-recheck" not in open_rules(opening)
    b.check_in(drywall, opening, "board", at=b.MONDAY + HOUR, answers={"bars__out": True})
    assert "spreaders-out-before-recheck" in open_rules(opening)


def test_a_draft_that_changes_nothing_changes_no_opening(site: Site) -> None:
    b.work_up_to(b.opening(site), "board")
    preview = preview_draft(drafted(site))
    assert (preview.in_all, preview.looked_at, preview.changed) == (1, 1, 0)
    assert [*preview.changes, *preview.raised, *preview.closed, *preview.unused] == []


def test_what_becomes_ready_and_which_check_ins_go_unused_is_told(site: Site) -> None:
    at_anchor, at_board = b.opening(site), b.opening(site)
    b.work_up_to(at_anchor, "stud")
    b.work_up_to(at_board, "board")
    b.opening(site, plan="masonry")
    preview = preview_draft(without(drafted(site), "anchor"))
    assert (preview.in_all, preview.changed, preview.become_ready) == (2, 2, 1)
    assert preview.changes["trueness", "waiting", "ready"] == 1
    assert preview.changes["anchor", "done", ""] == 1
    assert preview.unused == {"anchor": 1}
    assert {moved.number for moved in preview.examples} == {at_anchor.number, at_board.number}


def test_alerts_that_a_draft_would_close_and_raise_are_counted_and_come_true(site: Site) -> None:
    opening, drywall = b.opening(site), b.crew(site, Trade.DRYWALL)
    at = b.work_up_to(opening, "anchor")
    b.check_in(drywall, opening, "board", at=at + HOUR)
    assert "boarded-before-checked" in open_rules(opening)
    draft = without(drafted(site), "trueness")
    preview = preview_draft(draft)
    assert preview.closed == {"boarded-before-checked": 1}
    assert not preview.raised
    b.work_out(opening_ids=[opening.pk], now=LATER)
    plan, moved = install(draft=draft, based_on=draft.version, why="Proved elsewhere.", who=draft.changed_by, now=LATER)
    b.work_out(opening_ids=moved, now=LATER)
    assert open_rules(opening) == set()
    closed = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    assert (closed.closed_how, "plan changed" in closed.closed_why) == ("plan", True)
    back = begin_draft(plan=draft.base, who=draft.changed_by, now=LATER)
    assert preview_draft(back).raised == {"boarded-before-checked": 1}
    assert plan.version == 2


def test_after_a_change_of_plan_evidence_still_closes_by_its_own_name(site: Site) -> None:
    """The version before would not find it either, so the plan has no part in it."""
    opening, drywall = b.opening(site), b.crew(site, Trade.DRYWALL)
    at = b.work_up_to(opening, "anchor")
    boarded = b.check_in(drywall, opening, "board", at=at + HOUR)
    draft = without(drafted(site), "flooring")
    _plan, moved = install(draft=draft, based_on=draft.version, why="Not here.", who=draft.changed_by, now=LATER)
    b.work_out(opening_ids=moved, now=LATER)
    assert "boarded-before-checked" in open_rules(opening)
    b.check_in(drywall, opening, "board", "void", about=boarded.pk, at=at + 2 * HOUR)
    closed = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    assert closed.closed_how == "evidence"


def test_an_alert_the_plan_closed_opens_again_with_the_plan_before(site: Site) -> None:
    opening, drywall, chief = b.opening(site), b.crew(site, Trade.DRYWALL), b.supervisor(site)
    at = b.work_up_to(opening, "anchor")
    b.check_in(drywall, opening, "board", at=at + HOUR)
    first = SequencePlan.objects.get(site=site, code="steel_stud", current=True)
    for draft in (without(drafted(site), "trueness"), None):
        again = draft or begin_draft(plan=first, who=chief, now=LATER + HOUR)
        _plan, moved = install(draft=again, based_on=again.version, why="Tried.", who=chief, now=again.changed_at)
        b.work_out(opening_ids=moved, now=again.changed_at)
    assert "boarded-before-checked" in open_rules(opening)


def test_the_preview_says_what_installing_then_does(site: Site) -> None:
    openings = b.openings(site, 4)
    for opening, last in zip(openings, ("match", "set", "anchor", "board"), strict=True):
        b.work_up_to(opening, last)
    before = {p.pk: p.state["stages"] for p in Progress.objects.filter(site=site)}
    draft = without(drafted(site), "ffl", "recheck")
    preview = preview_draft(draft)
    _plan, moved = install(draft=draft, based_on=draft.version, why="Not here.", who=draft.changed_by, now=LATER)
    b.work_out(opening_ids=moved, now=LATER)
    found: dict[tuple[str, str, str], int] = {}
    for progress in Progress.objects.filter(site=site):
        was, now = before[progress.pk], progress.state["stages"]
        for code in {*was, *now}:
            pair = tuple(stages[code]["state"] if code in stages else "" for stages in (was, now))
            if pair[0] != pair[1]:
                found[code, *pair] = found.get((code, *pair), 0) + 1
    assert preview.changes == found


def test_only_so_many_openings_are_looked_at_those_last_worked_on_first(site: Site) -> None:
    b.openings(site, 3)
    worked_on = b.opening(site)
    b.work_up_to(worked_on, "match")
    preview = preview_draft(without(drafted(site), "receive"), most=1)
    assert (preview.in_all, preview.looked_at) == (4, 1)
    assert [moved.number for moved in preview.examples] == [worked_on.number]


def test_a_preview_asks_as_much_for_thirty_openings_as_for_three(site: Site) -> None:
    without(drafted(site), "finish")
    draft, counts = PlanDraft.objects.select_related("base").get(site=site), []
    for more in (3, 27):
        for opening in b.openings(site, more):
            b.check_in(b.supervisor(site), opening)
        with CaptureQueriesContext(connection) as asked:
            preview_draft(draft)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_what_the_shipped_plans_ask_for_can_be_read(site: Site) -> None:
    for plan in SequencePlan.objects.filter(site=site):
        draft = begin_draft(plan=plan, who=b.supervisor(site), now=LATER)
        checked = check_sheet(read_sheet(draft.document))
        assert (checked.problems, checked.remarks) == ((), ())
