"""Openings set down on a floor's plan, moved and taken off it, by a form or by the script of the plan."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from inspections.tasks import work_out_readiness
from openings.models import Floor, Opening
from openings.services.positions import set_positions, take_back_positions
from sitetrack.desk.floor_plan_form import TypedPositions, typed_positions
from sitetrack.desk.floor_plan_pages import MOST_PINS, floor_of, openings_on, plan_page
from sitetrack.desk.sheets import Desk, site_page
from sitetrack.desk.told import Undo, go_back, told, undone
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Problem


@require_POST
@site_page
def set_down(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Set the openings sent where they are said to stand; what is wrong is told beside its line, and nothing is set."""
    here = floor_of(desk, floor_id)
    by_script = request.headers.get("Accept") == "application/json"
    typed = typed_positions(request.POST, _named(request, desk, here), desk.site)
    try:
        if typed.wrong:
            return _told_wrong(request, desk, here, typed, by_script=by_script)
        moved = _set(desk, here, typed)
    except Problem as problem:
        if by_script:
            return JsonResponse({"detail": problem.detail}, status=problem.status)
        return plan_page(
            request, desk, here, step="positions", status=problem.status, rows=typed.rows, refused=problem.detail
        )
    if by_script:
        return JsonResponse({"moved": [_answer(opening) for opening in moved]})
    if moved:
        said = ngettext("%(n)d opening moved.", "%(n)d openings moved.", len(moved)) % {"n": len(moved)}
        told(request, said, undo=_undo(desk, here, desk.now))
    else:
        told(request, _("Nothing was changed."))
    return go_back(request, _back(desk, here))


@require_POST
@site_page
def take_back(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Undo the moves made at the moment named."""
    here = floor_of(desk, floor_id)
    moved_at = parse_datetime(request.POST.get("moved_at", "")[:40]) or desk.now

    def put_back() -> None:
        moved = take_back_positions(floor=here, moved_at=moved_at, who=desk.person, now=desk.now)
        enqueue(work_out_readiness, [str(opening.pk) for opening in moved])

    return undone(request, put_back, said=_("Put back where they stood."), back=_back(desk, here))


def _named(request: HttpRequest, desk: Desk, here: Floor) -> list[Opening]:
    """The openings of the floor that the form has a line for."""
    keys = []
    for name in request.POST:
        if name.startswith("v-"):
            try:
                keys.append(UUID(name.removeprefix("v-")))
            except ValueError:
                continue
    found: list[Opening] = list(openings_on(here, desk).filter(pk__in=keys[:MOST_PINS]))
    return found


def _set(desk: Desk, here: Floor, typed: TypedPositions) -> list[Opening]:
    if not typed.spots:
        return []
    moved = set_positions(floor=here, spots=typed.spots, versions=typed.versions, who=desk.person, now=desk.now)
    enqueue(work_out_readiness, [str(opening.pk) for opening in moved])
    return moved


def _told_wrong(
    request: HttpRequest, desk: Desk, here: Floor, typed: TypedPositions, *, by_script: bool
) -> HttpResponse:
    if by_script:
        return JsonResponse({"detail": next(row.error for row in typed.rows if row.error)}, status=422)
    said = ngettext(
        "%(n)d line can't be read; nothing was moved.", "%(n)d lines can't be read; nothing was moved.", typed.wrong
    )
    return plan_page(
        request, desk, here, step="positions", status=422, rows=typed.rows, refused=said % {"n": typed.wrong}
    )


def _answer(opening: Opening) -> dict[str, Any]:
    return {"id": str(opening.pk), "version": opening.version, "x": opening.x, "y": opening.y}


def _undo(desk: Desk, here: Floor, moved_at: datetime) -> Undo:
    address = reverse("desk:floor-positions-back", args=[desk.site.code, here.pk])
    return Undo(address, {"moved_at": moved_at.isoformat()})


def _back(desk: Desk, here: Floor) -> str:
    return reverse("desk:floor-plan", args=[desk.site.code, here.pk]) + "?step=positions"
