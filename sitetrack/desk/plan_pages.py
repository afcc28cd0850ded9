"""Sheet F-11: a site's sequence plans, drawn; their versions; and the next version as it is drawn and checked."""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections.services.plans import check_sheet
from openings.models import PlanDraft, SequencePlan
from openings.selectors.plans import plans_in_force
from openings.sequence.plan_document import PlanSheet, read_sheet
from openings.sequence.plan_editing import put_stage, take_out, waiting_for
from openings.sequence.stage import Stage
from openings.services.plans import (
    begin_draft,
    change_draft,
    document_of,
    drop_draft,
    restore_draft,
    take_back_change,
)
from sitetrack.desk.plan_drawing import draw_plan
from sitetrack.desk.plan_stage_form import StageForm, title_of
from sitetrack.desk.plan_words import MARK_USES, MARKS, condition_words, said
from sitetrack.desk.setup import PLANS, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import Undo, refused, told, undone
from sitetrack.kit.problems import Problem

MOST_VERSIONS = 100
NEW = "+"


@require_safe
@site_page
def plans(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The plans in force, how many openings follow each, and which has a draft."""
    drafts = set(_drafts(desk).values_list("code", flat=True))
    listed = [(plan, plan.code in drafts) for plan in plans_in_force(desk.site, desk.person)]
    context = {"listed": listed, "manages": is_supervisor(desk)}
    return draw(request, desk, PLANS, "desk/plans.html", context)


@require_safe
@site_page
def plan(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """One plan as drawn, the version in force or an older one, and all its versions."""
    made = SequencePlan.objects.visible_to(desk.person).filter(site=desk.site, code=plan_code)
    versions = list(made.select_related("made_by").order_by("-version")[:MOST_VERSIONS])
    wanted = request.GET.get("version", "")
    shown = next((v for v in versions if (str(v.version) == wanted if wanted else v.current)), None)
    if shown is None:
        raise Http404("No such version of a plan.")
    sheet = read_sheet(document_of(shown))
    context = {
        "shown": shown,
        "versions": versions,
        "drawing": _drawing(sheet, None, ""),
        "stages": sheet.stages,
        "lines": [_told_stage(stage) for stage in sheet.stages],
        "basis": said(sheet.basis),
        "draft": _drafts(desk).filter(code=plan_code).first() if is_supervisor(desk) else None,
        "manages": is_supervisor(desk),
    }
    return draw(request, desk, PLANS, "desk/plan.html", context)


@require_POST
@site_page
def begin(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Draw the next version from the one named."""
    _must_manage(desk)
    version = request.POST.get("version", "")
    from_ = get_object_or_404(
        SequencePlan.objects.visible_to(desk.person),
        site=desk.site,
        code=plan_code,
        version=int(version) if version.isdecimal() and len(version) < 9 else 0,
    )
    try:
        begin_draft(plan=from_, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return redirect("setup:plan", code=desk.site.code, plan_code=plan_code)
    return redirect("setup:plan-draft", code=desk.site.code, plan_code=plan_code)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def draft(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """The draft as drawn, with what is wrong with it, beside the form of one stage; a POST changes that stage."""
    held = draft_of(desk, plan_code)
    sheet = read_sheet(held.document)
    chosen = request.GET.get("stage", "")
    stage = next((each for each in sheet.stages if each.code == chosen), None)
    if stage is None and chosen != NEW:
        return _draft_page(request, desk, held, sheet, None, None)
    data = request.POST if request.method == "POST" else None
    form = StageForm(data, stages=sheet.stages, stage=stage, version=held.version)
    if data is None or not form.is_valid():
        return _draft_page(request, desk, held, sheet, form, stage, status=200 if data is None else 422)
    made = form.made()
    changed = put_stage(sheet, made, following=form.cleaned_data["following"] or None)
    try:
        now_drawn = change_draft(
            draft=held, sheet=changed, based_on=form.cleaned_data["based_on"], who=desk.person, now=desk.now
        )
    except Problem as problem:
        form.add_error(None, problem.detail)
        return _draft_page(request, desk, held, sheet, form, stage, status=problem.status)
    told(request, _("Drawn: %(stage)s.") % {"stage": said(made.title)}, undo=_undo(desk, now_drawn))
    return redirect(_address(desk, held.code)(made.code))


@require_POST
@site_page
def remove(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Take a stage out of the draft; who waited for it waits for what it waited for."""
    held = draft_of(desk, plan_code)
    sheet, code = read_sheet(held.document), request.POST.get("stage", "")
    stage = next((each for each in sheet.stages if each.code == code), None)
    if stage is None:
        raise Http404("No such stage in the draft.")
    try:
        now_drawn = change_draft(
            draft=held, sheet=take_out(sheet, code), based_on=_based_on(request), who=desk.person, now=desk.now
        )
    except Problem as problem:
        refused(request, problem)
    else:
        waited = ", ".join(waiting_for(sheet, code))
        text = _("Taken out: %(stage)s.") % {"stage": said(stage.title)}
        if waited:
            text += " " + _("What it waited for is now waited for by: %(stages)s.") % {"stages": waited}
        told(request, text, undo=_undo(desk, now_drawn))
    return redirect("setup:plan-draft", code=desk.site.code, plan_code=plan_code)


@require_POST
@site_page
def take_back(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Take the last change of the draft back."""
    held = draft_of(desk, plan_code)
    return undone(
        request,
        lambda: take_back_change(draft=held, based_on=_based_on(request), who=desk.person, now=desk.now),
        said=_("The draft is as it was before."),
        back=_address(desk, plan_code)(""),
    )


@require_POST
@site_page
def drop(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Drop the draft."""
    held = draft_of(desk, plan_code)
    try:
        gone = drop_draft(draft=held, based_on=_based_on(request), who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return redirect("setup:plan-draft", code=desk.site.code, plan_code=plan_code)
    undo = Undo(reverse("setup:plan-restore", args=[desk.site.code, plan_code]), {"based_on": str(gone.version)})
    told(request, _("The draft was dropped; the plan in force stays as it is."), undo=undo)
    return redirect("setup:plan", code=desk.site.code, plan_code=plan_code)


@require_POST
@site_page
def restore(request: HttpRequest, desk: Desk, plan_code: str) -> HttpResponse:
    """Bring a dropped draft back."""
    _must_manage(desk)
    held = get_object_or_404(PlanDraft.objects.visible_to(desk.person), site=desk.site, code=plan_code)
    return undone(
        request,
        lambda: restore_draft(draft=held, based_on=_based_on(request), who=desk.person, now=desk.now),
        said=_("The draft is back."),
        back=reverse("setup:plan", args=[desk.site.code, plan_code]),
    )


def draft_of(desk: Desk, plan_code: str) -> PlanDraft:
    """The draft of a plan, for who may draw it; nothing for others."""
    _must_manage(desk)
    return get_object_or_404(_drafts(desk).select_related("base", "changed_by"), code=plan_code)


def _drafts(desk: Desk) -> Any:
    return PlanDraft.objects.visible_to(desk.person).filter(site=desk.site, dropped_at=None)


def _must_manage(desk: Desk) -> None:
    if not is_supervisor(desk):
        raise Http404("Set-up is the supervisor's.")


def _based_on(request: HttpRequest) -> int:
    text = request.POST.get("based_on", "")
    return int(text) if text.isdecimal() and len(text) < 9 else 0


def _address(desk: Desk, plan_code: str) -> Callable[[str], str]:
    page = reverse("setup:plan-draft", args=[desk.site.code, plan_code])
    return lambda code: f"{page}?stage={code}#stage" if code else page


def _undo(desk: Desk, drawn: PlanDraft) -> Undo:
    address = reverse("setup:plan-undo", args=[desk.site.code, drawn.code])
    return Undo(address, {"based_on": str(drawn.version)})


def _drawing(sheet: PlanSheet, address: Callable[[str], str] | None, chosen: str) -> str:
    label = _("Stages of %(plan)s and what each waits for") % {"plan": said(sheet.name)}
    # The drawing escapes its words itself.
    return mark_safe(draw_plan(sheet.stages, address, chosen=chosen, label=label))  # noqa: S308


def _told_stage(stage: Stage) -> dict[str, Any]:
    """A stage as the list beside the drawing tells it."""
    return {
        "stage": stage,
        "title": said(stage.title),
        "needed": condition_words(stage.applies_when),
        "marks": [MARKS[mark] for mark in stage.marks],
    }


def _draft_page(
    request: HttpRequest,
    desk: Desk,
    held: PlanDraft,
    sheet: PlanSheet,
    form: StageForm | None,
    stage: Stage | None,
    *,
    status: int = 200,
) -> HttpResponse:
    checked = check_sheet(sheet)
    chosen = stage.code if stage else NEW if form else ""
    context = {
        "held": held,
        "name": said(sheet.name),
        "drawing": _drawing(sheet, _address(desk, held.code), chosen),
        "lines": [_told_stage(each) for each in sheet.stages],
        "problems": [(problem.stage, said(problem.said)) for problem in checked.problems],
        "remarks": [(remark.stage, said(remark.said)) for remark in checked.remarks],
        "form": form,
        "form_title": title_of(stage),
        "stage": stage,
        "chosen": chosen,
        "waiting": waiting_for(sheet, stage.code) if stage else [],
        "mark_uses": [(MARKS[mark], use) for mark, use in MARK_USES.items()],
    }
    return draw(request, desk, PLANS, "desk/plan_draft.html", context, status=status)
