"""Sheet F-2, the plan of a floor: its picture, its scale, and the openings put where they stand."""

from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from openings.models import Floor, FloorPlan, Opening
from openings.selectors.floor_plans import plan_of
from openings.services.floor_plans import (
    MOST_BYTES,
    Upload,
    choose_page,
    put_to_scale,
    set_plan_picture,
    take_plan_away,
    take_plan_back,
)
from sitetrack.access.rights import Right, allows
from sitetrack.desk.floor_ground import Sheet as Drawing
from sitetrack.desk.floor_ground import ground_of, sheet_for
from sitetrack.desk.floor_plan_form import PositionRow, ScaleForm, position_row
from sitetrack.desk.sheets import Desk, Sheet, draw, site_page
from sitetrack.desk.told import Undo, told, undone
from sitetrack.kit.problems import Problem, TooLarge

PLAN = Sheet("F-2", gettext_lazy("Plan of a floor"))
STEPS = ("picture", "scale", "positions")
MOST_PINS = 1500  # on one drawing
ROWS_ON_PAGE = 100
PICTURE_HEADERS = {
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Content-Disposition": "inline",
    "X-Content-Type-Options": "nosniff",
}


@require_safe
@site_page
def plan(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """One of three steps: the picture, its scale, the positions; the next still to do unless one is asked for."""
    return plan_page(request, desk, floor_of(desk, floor_id), step=request.GET.get("step", ""))


@require_safe
@site_page
def picture(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """The picture itself, for people of the site; its address changes with it, so it may be kept."""
    found = plan_of(floor_of(desk, floor_id))
    if found is None:
        raise Http404
    tag = f'"{found.digest}"'
    headers = PICTURE_HEADERS | {"ETag": tag}
    if request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified(headers=headers)
    with found.picture.open() as file:
        return HttpResponse(file.read(), content_type="image/webp", headers=headers)


@require_POST
@site_page
def send_picture(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Take the picture or the page of a PDF that was sent."""
    here = floor_of(desk, floor_id)
    upload: Any = request.FILES.get("file")
    if upload is None:
        return plan_page(request, desk, here, step="picture", refused=_("Choose a file first."), status=422)
    try:
        if (upload.size or 0) > MOST_BYTES:
            raise TooLarge(
                _("The file is over %(most)d MB. Save the one sheet alone, or send it as a picture.")
                % {"most": MOST_BYTES // 1_000_000}
            )
        sent = Upload(upload.read(), upload.name or "", _page(request))
        set_plan_picture(floor=here, upload=sent, who=desk.person, now=desk.now)
    except Problem as problem:
        return plan_page(request, desk, here, step="picture", refused=problem.detail, status=problem.status)
    told(request, _("The plan's picture was taken."))
    return redirect("desk:floor-plan", code=desk.site.code, floor_id=here.pk)


@require_POST
@site_page
def another_page(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Draw another page of the PDF that was sent."""
    here = floor_of(desk, floor_id)
    try:
        choose_page(plan=_plan_or_404(here), page=_page(request), who=desk.person, now=desk.now)
    except Problem as problem:
        return plan_page(request, desk, here, step="picture", refused=problem.detail, status=problem.status)
    told(request, _("The page was drawn."))
    return redirect("desk:floor-plan", code=desk.site.code, floor_id=here.pk)


@require_POST
@site_page
def scale(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Put the picture to scale by two points and their distance."""
    here = floor_of(desk, floor_id)
    found = _plan_or_404(here)
    form = ScaleForm(request.POST, plan=found)
    if form.is_valid():
        try:
            put_to_scale(plan=found, scale=form.scale(), who=desk.person, now=desk.now)
        except Problem as problem:
            form.refuse(problem)
        else:
            told(request, _("The plan is to scale."))
            return redirect("desk:floor-plan", code=desk.site.code, floor_id=here.pk)
    return plan_page(request, desk, here, step="scale", form=form, status=422)


@require_POST
@site_page
def take_away(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Take the picture away."""
    here = floor_of(desk, floor_id)
    try:
        take_plan_away(plan=_plan_or_404(here), who=desk.person, now=desk.now)
    except Problem as problem:
        return plan_page(request, desk, here, step="picture", refused=problem.detail, status=problem.status)
    back = Undo(reverse("desk:floor-plan-back", args=[desk.site.code, here.pk]))
    told(request, _("The picture was taken away; the openings keep their positions."), undo=back)
    return redirect("desk:floor-plan", code=desk.site.code, floor_id=here.pk)


@require_POST
@site_page
def put_back(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Put the picture back that was just taken away."""
    here = floor_of(desk, floor_id)
    return undone(
        request,
        lambda: take_plan_back(floor=here, who=desk.person, now=desk.now),
        said=_("The picture is back."),
        back=reverse("desk:floor-plan", args=[desk.site.code, here.pk]),
    )


def floor_of(desk: Desk, floor_id: UUID) -> Floor:
    """The floor of this id on the desk's site, with its plan if it has one."""
    floors = Floor.objects.visible_to(desk.person).filter(site=desk.site).select_related("building", "plan", "site")
    found: Floor = get_object_or_404(floors, pk=floor_id)
    return found


def plan_page(
    request: HttpRequest, desk: Desk, here: Floor, *, step: str, status: int = 200, **drawn: Any
) -> HttpResponse:
    """The page at a step; `drawn` has what a refused form must show again: `form`, `refused` or `rows`."""
    found = plan_of(here)
    step = _step(found, step)
    context: dict[str, Any] = {
        "floor": here,
        "plan": found,
        "step": step,
        "may_change": allows(desk.membership.role, Right.CHANGE_SCHEDULE),
        "most_megabytes": MOST_BYTES // 1_000_000,
    }
    if step == "scale":
        context["form"] = ScaleForm(None, plan=found) if found else None
    if step == "positions":
        context |= _positions(request, desk, here, drawn.get("rows"))
    return draw(request, desk, PLAN, f"desk/floor_plan_{step}.html", context | drawn, status=status)


def _step(found: FloorPlan | None, asked: str) -> str:
    if asked in STEPS and (found or asked != "scale"):
        return asked
    if found is None:
        return "picture"
    return "positions" if found.metres_per_px else "scale"


def _positions(request: HttpRequest, desk: Desk, here: Floor, rows: list[PositionRow] | None) -> dict[str, Any]:
    openings = list(openings_on(here, desk)[:MOST_PINS])
    standing = [(each, each.x, each.y) for each in openings if each.x is not None and each.y is not None]
    drawing = sheet_for([(x, y) for _each, x, y in standing], ground_of(plan_of(here)))
    pages = Paginator(openings, ROWS_ON_PAGE)
    page = pages.get_page(request.GET.get("page"))
    return {
        "drawing": drawing,
        "grid": grid_lines(drawing),
        "pins": [(each, *drawing.at(x, y)) for each, x, y in standing],
        "tray": [each for each in openings if each.x is None or each.y is None],
        "page": page,
        "rows": rows or [position_row(each, desk.site) for each in page],
        "cut_off": len(openings) == MOST_PINS,
    }


def openings_on(here: Floor, desk: Desk) -> Any:
    """The scheduled openings of a floor in walking order, with what their position needs."""
    openings = Opening.objects.visible_to(desk.person).filter(floor=here, in_schedule=True)
    columns = ("pk", "number", "room_from", "room_to", "x", "y", "version", "floor", "site")
    return openings.order_by("walk", "number").only(*columns)


def grid_lines(drawing: Drawing) -> tuple[list[float], list[float], int]:
    """Where the grid's lines lie on the drawing, and the metres between them: 1, 5, 10, 50 … so that some are seen."""
    metres = next(
        step for step in (1, 5, 10, 50, 100, 500, 10**9) if drawing.width * drawing.metres_per_unit / step < 40
    )
    step = metres / drawing.metres_per_unit
    across = [round(n * step, 1) for n in range(1, int(drawing.width / step) + 1)]
    down = [round(n * step, 1) for n in range(1, int(drawing.height / step) + 1)]
    return across, down, metres


def _page(request: HttpRequest) -> int:
    typed = request.POST.get("page", "").strip() or "1"
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 6 else 0


def _plan_or_404(here: Floor) -> FloorPlan:
    found = plan_of(here)
    if found is None:
        raise Http404
    return found
