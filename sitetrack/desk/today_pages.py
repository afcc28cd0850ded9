"""Sheet F-1: who can start what, what went wrong, what is stuck, what came in."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inspections.models.alerts import Severity
from inspections.rules.table import ADVICE, TITLES
from inspections.selectors import today as morning
from inspections.selectors.alerts import MOST_ON_TODAY, alert_lines, open_by_rule
from inspections.selectors.stages import site_stages
from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import TODAY, Desk, draw, site_page

CHANGES_SPAN = timedelta(hours=24)


@require_safe
@site_page
@live_page
def today(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The morning's sheet."""
    site, person, now = desk.site, desk.person, desk.now
    since = now - CHANGES_SPAN
    counts = open_by_rule(site, person)
    holds, holds_in_all = morning.open_holds(site, person, now)
    aside, aside_in_all = morning.kept_aside(site, person)
    lines = alert_lines(site, person, most=MOST_ON_TODAY)
    floors = morning.floor_progress(site, person, desk.today)
    context = {
        "stages": site_stages(site, person),
        "trades": morning.ready_by_trade(site, person),
        "signatures": morning.awaiting_signature(site, person),
        "alerts": [(line, TITLES.get(line.rule, line.rule), ADVICE.get(line.rule, "")) for line in lines],
        "critical": sum(count.count for count in counts if count.severity == Severity.CRITICAL),
        "alerts_in_all": sum(count.count for count in counts),
        "holds": holds,
        "holds_in_all": holds_in_all,
        "aside": aside,
        "aside_in_all": aside_in_all,
        "floors": floors,
        "many_buildings": len({floor.building for floor in floors}) > 1,
        "changes": morning.changes_since(site, person, since),
        "revisions": morning.revisions_since(site, person, since),
        "since": since,
    }
    return draw(request, desk, TODAY, "desk/today.html", context)
