"""Part of sheet F-6: asking for an evidence pack of an opening, a wall, a floor, or the days between two."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from openings.models import Floor, Site, WallType
from sitetrack.desk.sheets import WEEKLY, Desk, draw, site_page

MOST_CHOICES = 500
USUAL_DAYS = 7


@require_safe
@site_page
def evidence(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The form; the files are made by the addresses it is sent to. What an address of ours filled in stays filled."""
    floors = Floor.objects.visible_to(desk.person).filter(site=desk.site).select_related("building")
    walls = WallType.objects.filter(site=desk.site).order_by("code")
    asked = {name: request.GET.get(name, "")[:60] for name in ("opening", "floor", "wall", "from", "to")}
    context = {
        "floors": floors[:MOST_CHOICES],
        "walls": walls.values_list("code", flat=True)[:MOST_CHOICES],
        "asked": asked,
        "week_ago": (desk.today - timedelta(days=USUAL_DAYS - 1)).isoformat(),
        "today": desk.today.isoformat(),
        "paper": "a4" if desk.site.units == Site.Units.METRIC else "letter",
    }
    return draw(request, desk, WEEKLY, "desk/evidence.html", context)
