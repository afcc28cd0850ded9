"""Sheet F-2: every opening of a floor where it stands, and the same as a list."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from inspections.selectors.floors import FloorOpening, floor_names, floor_openings, floor_rows, openings_of_floor
from inspections.selectors.stages import site_stages
from openings.models import Floor
from openings.selectors.floor_plans import plan_of
from sitetrack.access.rights import Right, allows
from sitetrack.desk.floor_columns import sorted_columns
from sitetrack.desk.floor_filters import narrowed_floor
from sitetrack.desk.floor_ground import ground_of
from sitetrack.desk.floor_marks import Drawn, Stages, addresses, placed_mark, standing_mark
from sitetrack.desk.frame_mark import FrameLook, look_of
from sitetrack.desk.legend import LEGEND
from sitetrack.desk.live import live_page
from sitetrack.desk.opening_walk import walk_suffix
from sitetrack.desk.sheets import FLOOR, Desk, draw, site_page
from sitetrack.kit.floor_drawing import plan, runs

# On one page; more are on the next.
MOST_MARKS = 600
MOST_ROWS = 200


@require_safe
@site_page
def floors(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The first floor in walking order; a site without floors has its schedule still to come."""
    names = floor_names(desk.site, desk.person)
    if not names:
        return draw(request, desk, FLOOR, "desk/floor_none.html", {})
    # What was asked for rides along: a list stays a list, and what is narrowed stays narrowed.
    query = f"?{request.GET.urlencode()}" if request.GET else ""
    return redirect(reverse("desk:floor", args=[desk.site.code, names[0].id]) + query)


@require_safe
@site_page
@live_page
def floor(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """One floor, as a drawing or as a list, narrowed by what the address asks for."""
    here: Floor = get_object_or_404(
        Floor.objects.visible_to(desk.person).filter(site=desk.site).select_related("building", "plan"), pk=floor_id
    )
    stages = site_stages(desk.site, desk.person)
    narrowed = narrowed_floor(request.GET, stages, openings_of_floor(here, desk.person))
    as_list = request.GET.get("as") == "list"
    rows = Paginator(floor_rows(narrowed.qs), MOST_ROWS if as_list else MOST_MARKS)
    page = rows.get_page(request.GET.get("page"))
    openings = [(opening, look(opening)) for opening in floor_openings(page)]
    suffix = walk_suffix(request.GET)
    context = {
        "stages": stages,
        "floor": here,
        "floors": floor_names(desk.site, desk.person),
        "filter": narrowed,
        "filtering": any(request.GET.get(name) for name in narrowed.filters if name != "order"),
        "page": page,
        "openings": openings,
        "as_list": as_list,
        "walking": request.GET.get("order", "walk") in {"walk", ""},
        "legend": LEGEND,
        "walk_suffix": suffix,
        "may_place": allows(desk.membership.role, Right.CHANGE_SCHEDULE),
        "columns": sorted_columns(request.GET) if as_list else (),
        **({} if as_list else _drawing(openings, here, addresses(desk.site, suffix), stages)),
    }
    return draw(request, desk, FLOOR, "desk/floor.html", context)


def look(opening: FloorOpening) -> FrameLook:
    """How an opening of a floor is drawn."""
    return look_of(
        opening.marked, alert=opening.alerts > 0, held=opening.held, leaves=opening.leaves, hand=opening.hand
    )


def _drawing(openings: list[Drawn], here: Floor, address: Callable[[str], str], stages: Stages) -> dict[str, Any]:
    picture = plan_of(here)
    on_plan = plan([(drawn, drawn[0].x, drawn[0].y) for drawn in openings], ground_of(picture))
    walked = on_plan.unplaced if on_plan else openings
    return {
        "picture": picture,
        "plan": on_plan,
        "plan_marks": [placed_mark(p, address(p.what[0].number), stages) for p in on_plan.placed] if on_plan else [],
        "runs": [
            (run, [standing_mark(drawn, address(drawn[0].number), stages) for drawn in run.openings])
            for run in runs((drawn[0].room_from, drawn) for drawn in walked)
        ],
    }
