"""Sheet F-3: one opening, and reporting from it."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from inspections.models.checkins import Action, Outcome
from inspections.models.progress import StageState
from inspections.rules.table import ADVICE, TITLES
from inspections.selectors.opening_record import OpeningSheet, find_opening, opening_sheet
from inspections.services.check_ins import record_from_desk
from inspections.services.corrections import correct_check_in, undo_check_in
from inspections.services.reports import ItemResult
from inspections.tasks import work_out_readiness
from openings.models import Opening
from sitetrack.access.rights import Right, allows
from sitetrack.desk.check_in_form import ABOUT_NEEDED, BUTTONS, CheckInForm, as_said, button_words
from sitetrack.desk.frame_mark import look_of
from sitetrack.desk.live import live_page
from sitetrack.desk.opening_drawing import opening_drawing
from sitetrack.desk.opening_facts import schedule_rows
from sitetrack.desk.opening_notes import notes_for
from sitetrack.desk.opening_walk import walk_from
from sitetrack.desk.sheets import OPENING, Desk, draw, site_page
from sitetrack.desk.told import Undo, told, undone
from sitetrack.kit.ids import read_id
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Problem

REPORTED_ANYWHERE = {
    Action.NOTE: BUTTONS[Action.NOTE],
    Action.HOLD: BUTTONS[Action.HOLD],
    Action.START: BUTTONS[Action.START],
    Action.FINISH: BUTTONS[Action.FINISH],
    Action.FAIL: gettext_lazy("Report a check as failed"),
}
RECORDED = {
    Outcome.PASS: gettext_lazy("Recorded: the reading passes."),
    Outcome.FAIL: gettext_lazy("Recorded: the reading fails. Its stage says what is out."),
    Outcome.INCOMPLETE: gettext_lazy("Recorded, but incomplete: its stage says what is missing."),
}
WORK = {Action.START, Action.FINISH}


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
@live_page
def opening(request: HttpRequest, desk: Desk, number: str) -> HttpResponse:
    """The opening's sheet; a POST reports something from it."""
    here = find_opening(desk.site, desk.person, number)
    if here is None:
        raise Http404("No opening of that number on this site.")
    sheet = opening_sheet(here, desk.person)
    if request.method != "POST":
        form = _form_asked_for(request, sheet) if desk.may_report else None
        return _page(request, desk, sheet, form)
    stage = sheet.stages.get(request.POST.get("stage", ""))
    action = request.POST.get("action", "")
    if stage is None or action not in BUTTONS:
        raise Http404("No such stage or action at this opening.")
    form = CheckInForm(request.POST, stage=stage, action=action)
    if form.is_valid() and _recorded(request, desk, here, form):
        return redirect(_address(desk, here) + walk_from(desk, here, request.GET).suffix)
    return _page(request, desk, sheet, form, status=422)


@require_POST
@site_page
def undo(request: HttpRequest, desk: Desk, check_in_id: UUID) -> HttpResponse:
    """Take back what one has just reported."""

    def take_back() -> None:
        opening = undo_check_in(site=desk.site, check_in=check_in_id, who=desk.person, now=desk.now)
        enqueue(work_out_readiness, [str(opening.pk)])

    back = reverse("desk:today", args=[desk.site.code])
    return undone(request, take_back, said=_("Taken back; it stays in the record, told apart."), back=back)


def _recorded(request: HttpRequest, desk: Desk, here: Opening, form: CheckInForm) -> bool:
    """Hand the check-in to the service; its refusal goes onto the form, which keeps all that was typed."""
    try:
        result = _correct(desk, form) if form.corrects else _record(desk, here, form)
    except Problem as problem:
        form.refuse(problem)
        return False
    enqueue(work_out_readiness, [str(here.pk)])
    said = RECORDED.get((result.verdict or {}).get("verdict", ""), _("Recorded."))
    can_be_undone = form.cleaned_data["action"] != Action.VOID and not form.corrects
    undo_at = reverse("desk:check-in-undo", args=[desk.site.code, result.id]) if can_be_undone else ""
    told(request, said, undo=Undo(undo_at) if undo_at else None)
    return True


def _record(desk: Desk, here: Opening, form: CheckInForm) -> ItemResult:
    return record_from_desk(
        site=desk.site,
        opening=here,
        stage=form.cleaned_data["stage"],
        action=form.cleaned_data["action"],
        who=desk.person,
        now=desk.now,
        happened_at=form.cleaned_data.get("happened_at"),
        about=form.about_id(),
        note=form.cleaned_data["note"],
        readings=form.readings(),
        answers=form.answers(),
    )


def _correct(desk: Desk, form: CheckInForm) -> ItemResult:
    corrected = form.about_id()
    if corrected is None:
        raise Http404("A correction names what it corrects.")
    return correct_check_in(
        site=desk.site,
        corrected=corrected,
        said={"note": form.cleaned_data["note"], "readings": form.readings(), "answers": form.answers()},
        why=form.cleaned_data["why"],
        who=desk.person,
        now=desk.now,
    )


def _form_asked_for(request: HttpRequest, sheet: OpeningSheet) -> CheckInForm | None:
    """The form that the address asks for with `do`, `stage` and `about`, or none; `correct` fills it in as it was."""
    stage = sheet.stages.get(request.GET.get("stage", ""))
    action = request.GET.get("do", "")
    if stage is None or action not in BUTTONS:
        return None
    about = read_id(request.GET.get("about", ""))
    if action in ABOUT_NEEDED and about is None:
        return None
    asked = {"stage": stage.code, "action": action, "about": about, "waive": request.GET.get("waive") == "1"}
    if request.GET.get("correct") == "1":
        line = next((line for line in sheet.record if line.id == about and line.can_be_corrected), None)
        if line is None or (line.stage, line.action) != (stage.code, action):
            return None
        asked |= as_said(line) | {"correct": True}
    return CheckInForm(initial=asked, stage=stage, action=action)


def _page(
    request: HttpRequest, desk: Desk, sheet: OpeningSheet, form: CheckInForm | None, *, status: int = 200
) -> HttpResponse:
    here = sheet.opening
    look = look_of(sheet.marked, alert=bool(sheet.open_alerts), held=sheet.held, leaves=here.leaves, hand=here.hand)
    context: dict[str, Any] = {
        "opening": here,
        "sheet_of": sheet,
        "stages": sheet.stages,
        "look": look,
        "facts": schedule_rows(here, desk.site),
        "alerts": [(line, TITLES.get(line.rule, line.rule), ADVICE.get(line.rule, "")) for line in sheet.alerts],
        "drawing": opening_drawing(sheet),
        "notes": notes_for(here),
        "reports": list(REPORTED_ANYWHERE.items()),
        "report_at": sheet.next_stage or next(iter(sheet.stages), ""),
        "may_edit": allows(desk.membership.role, Right.CHANGE_SCHEDULE),
        "walk": walk_from(desk, here, request.GET),
        "released": [hold for hold in sheet.holds if hold.released_at],
        **_asked(sheet, form),
    }
    return draw(request, desk, OPENING, "desk/opening.html", context, status=status)


def _asked(sheet: OpeningSheet, form: CheckInForm | None) -> dict[str, Any]:
    if form is None:
        return {"form": None}
    about, action, stage = form["about"].value(), Action(form["action"].value()), sheet.stages[form["stage"].value()]
    rung = next((rung for rung in sheet.ladder if rung.stage.code == stage.code), None)
    return {
        "form": form,
        "form_stage": stage,
        "form_button": button_words(action, stage, waives=form.waives, corrects=form.corrects),
        "form_waits_for": rung.blocked_by if rung and rung.state == StageState.WAITING and action in WORK else (),
        "form_about": next((line for line in sheet.record if str(line.id) == str(about)), None),
    }


def _address(desk: Desk, here: Opening) -> str:
    return reverse("desk:opening", kwargs={"code": desk.site.code, "number": here.number})
