"""Sheet F-5 by hand: one opening corrected or added, taken off the schedule and put back, and the undo of each."""

from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from inspections.selectors.opening_record import find_opening
from inspections.tasks import sweep, work_out_readiness
from openings.models import Opening
from openings.services.chosen import ChangedMeanwhile
from openings.services.edit import edit_openings
from openings.services.edit_undo import take_back_edit
from openings.services.listing import add_opening, list_openings
from sitetrack.access.rights import Right, allows
from sitetrack.desk.schedule_edit_form import EditForm, typed_of
from sitetrack.desk.sheets import SCHEDULE, Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, refused, told, undone
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import BadInput, Problem

WORKED_OUT_AT_ONCE = 200  # more are left to the sweep


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def edit(request: HttpRequest, desk: Desk, number: str) -> HttpResponse:
    """Correct what the schedule says of one opening."""
    _must_change(desk)
    opening = _opening(desk, number)
    if request.method != "POST":
        form = EditForm(site=desk.site, initial={**typed_of(opening, desk.site), "version": opening.version})
        return _form_page(request, desk, form, opening)
    form = EditForm(request.POST, site=desk.site)
    both: list[tuple[str, str, str]] = []
    if form.is_valid():
        try:
            return _corrected(request, desk, opening, form)
        except ChangedMeanwhile:
            opening = _opening(desk, number)
            form, both = form.meanwhile(typed_of(opening, desk.site), opening.version)
        except BadInput as problem:
            form.refuse(problem)
    return _form_page(request, desk, form, opening, both=both, status=409 if both else 422)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def add(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Add an opening that no file lists."""
    _must_change(desk)
    form = EditForm(request.POST if request.method == "POST" else None, site=desk.site)
    if request.method == "POST" and form.is_valid():
        try:
            made = add_opening(site=desk.site, facts=form.facts(), who=desk.person, now=desk.now)
        except BadInput as problem:
            form.refuse(problem)
        else:
            tell_changed(request, desk, [made], _("Opening %(number)s added.") % {"number": made.number})
            return redirect("desk:opening", code=desk.site.code, number=made.number)
    return _form_page(request, desk, form, None, status=422 if request.method == "POST" else 200)


@require_POST
@site_page
def listed(request: HttpRequest, desk: Desk, number: str) -> HttpResponse:
    """Take one opening off the schedule, or put it back."""
    opening = _opening(desk, number)
    back = request.POST.get("listed") == "1"
    version = request.POST.get("version", "")
    versions = {opening.pk: int(version) if version.isdecimal() and len(version) < 10 else 0}
    try:
        done = list_openings(site=desk.site, versions=versions, listed=back, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
    else:
        tell_changed(request, desk, done, said_listed(len(done), back=back))
    return go_back(request, reverse("desk:opening", args=[desk.site.code, opening.number]))


@require_POST
@site_page
def undo(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Undo what one has just changed by hand."""
    made_at = _moment(request.POST.get("at", ""))

    def take_back() -> None:
        changed = take_back_edit(site=desk.site, made_at=made_at, who=desk.person, now=desk.now)
        work_out(changed)

    back = reverse("desk:schedule-by-hand", args=[desk.site.code])
    return undone(request, take_back, said=_("Put back as it was; both changes are on record."), back=back)


def tell_changed(request: HttpRequest, desk: Desk, changed: list[Opening], said: str) -> None:
    """Have the openings worked out again, and say what was done with its Undo."""
    work_out(changed)
    address = reverse("desk:schedule-edit-undo", args=[desk.site.code])
    told(request, said, undo=Undo(address, {"at": desk.now.isoformat()}))


def work_out(changed: list[Opening]) -> None:
    """Hand the openings to whoever works them out; many are left to the sweep, which finds what is owed."""
    if len(changed) <= WORKED_OUT_AT_ONCE:
        enqueue(work_out_readiness, [str(opening.pk) for opening in changed])
    else:
        enqueue(sweep)


def said_listed(count: int, *, back: bool) -> str:
    """What was done to so many openings."""
    if back:
        return ngettext("%(n)d opening put back.", "%(n)d openings put back.", count) % {"n": count}
    return ngettext("%(n)d opening taken off.", "%(n)d openings taken off.", count) % {"n": count}


def _corrected(request: HttpRequest, desk: Desk, opening: Opening, form: EditForm) -> HttpResponse:
    facts = form.facts()
    if not facts:
        raise BadInput(_("Nothing was changed yet."))
    changed = edit_openings(
        site=desk.site,
        versions={opening.pk: form.cleaned_data["version"] or 0},
        facts=facts,
        who=desk.person,
        now=desk.now,
    )
    if changed:
        tell_changed(request, desk, changed, _("Corrected, and on record with your name."))
    else:
        told(request, _("It says that already; nothing was changed."))
    number = changed[0].number if changed else opening.number
    return redirect("desk:opening", code=desk.site.code, number=number)


def _form_page(
    request: HttpRequest,
    desk: Desk,
    form: EditForm,
    opening: Opening | None,
    *,
    both: list[tuple[str, str, str]] | None = None,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "opening": opening, "both": both or []}
    return draw(request, desk, SCHEDULE, "desk/schedule_edit.html", context, status=status)


def _must_change(desk: Desk) -> None:
    if not allows(desk.membership.role, Right.CHANGE_SCHEDULE):
        raise PermissionDenied


def _opening(desk: Desk, number: str) -> Opening:
    found = find_opening(desk.site, desk.person, number)
    if found is None:
        raise Http404("No opening of that number on this site.")
    return found


def _moment(text: str) -> datetime:
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise Http404("No such moment.")
    return moment
