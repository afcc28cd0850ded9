"""Finding an opening by what one knows of it: straight to the one of that number, or to a list of those it may be."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from inspections.selectors.finding import MOST_FOUND, find_openings
from inspections.selectors.opening_record import find_opening
from inspections.selectors.stages import site_stages
from sitetrack.desk.floor_pages import look
from sitetrack.desk.sheets import OPENING, Desk, draw, site_page

LONGEST = 40


@require_safe
@site_page
def find(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Go to the opening of this number, or list those whose number, mark or room holds what was typed."""
    wanted = " ".join(request.GET.get("number", "").split())[:LONGEST]
    if wanted and (exact := find_opening(desk.site, desk.person, wanted)):
        return redirect("desk:opening", code=desk.site.code, number=exact.number)
    found = find_openings(desk.site, desk.person, wanted) if wanted else None
    hits = [(hit, look(hit.opening)) for hit in found.hits] if found else []
    context = {
        "wanted": wanted,
        "hits": hits,
        "more": found is not None and found.more,
        "most": MOST_FOUND,
        "many_buildings": len({hit.building for hit, _look in hits}) > 1,
        "stages": site_stages(desk.site, desk.person),
    }
    return draw(request, desk, OPENING, "desk/find.html", context)
