"""Sheet F-1: who can start what, what went wrong, what is stuck, what came in."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from inspections.rules.table import ADVICE, TITLES
from inspections.selectors import ready
from inspections.selectors import today as morning
from inspections.selectors.alerts import MOST_ON_TODAY, alert_lines, open_counts
from inspections.selectors.stages import site_stages
from sitetrack.access.rights import Right, allows
from sitetrack.access.roles import Trade
from sitetrack.access.services.looks import mark_seen, note_look, seen_since
from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import TODAY, Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, told


@require_safe
@site_page
@live_page
def today(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The morning's sheet."""
    site, person, now = desk.site, desk.person, desk.now
    # A page that refreshes itself is no look of a person's: what is new stays new until they open it again.
    by_script = request.live.asked_by_script  # type: ignore[attr-defined]
    since = (seen_since if by_script else note_look)(site_id=site.pk, who=person, now=now)
    trade = request.GET.get("walk", "")
    counts = open_counts(site, person, now=now)
    holds, holds_in_all = morning.open_holds(site, person, now)
    aside, aside_in_all = morning.kept_aside(site, person)
    lines = alert_lines(site, person, now=now, most=MOST_ON_TODAY)
    floors = morning.floor_progress(site, person, desk.today)
    names = {floor.floor_id: floor.floor for floor in floors}
    trades = ready.ready_by_trade(site, person, names)
    chosen = trade if trade in Trade.values else ""
    walk = ready.the_walk(site, person, names, trades, trade=chosen, most=ready.MOST_STOPS + 1)
    context = {
        "stages": site_stages(site, person),
        "trades": trades,
        "signatures": ready.awaiting_signature(site, person),
        "alerts": [(line, TITLES.get(line.rule, line.rule), ADVICE.get(line.rule, "")) for line in lines],
        "critical": counts.critical,
        "alerts_in_all": counts.open,
        "muted": counts.muted,
        "holds": holds,
        "holds_in_all": holds_in_all,
        "aside": aside,
        "aside_in_all": aside_in_all,
        "floors": floors,
        "many_buildings": len({floor.building for floor in floors}) > 1,
        "changes": morning.changes_since(site, person, since),
        "revisions": morning.revisions_since(site, person, since),
        "since": since,
        "walk": walk[: ready.MOST_STOPS],
        "walk_goes_on": len(walk) > ready.MOST_STOPS,
        "walk_trade": trade,
        "whole_site": allows(desk.membership.role, Right.READ_WHOLE_SITE),
    }
    return draw(request, desk, TODAY, "desk/today.html", context)


@require_POST
@site_page
def seen(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Say that what came in until the sheet was drawn is seen."""
    until = _moment(request.POST.get("until", "")) or desk.now
    before = mark_seen(site_id=desk.site.pk, who=desk.person, until=until, now=desk.now)
    again = Undo(reverse("desk:unseen", args=[desk.site.code]), {"since": before.isoformat()})
    told(request, _("Seen. What comes in from now on is told as new."), undo=again)
    return go_back(request, reverse("desk:today", args=[desk.site.code]))


@require_POST
@site_page
def unseen(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Undo: it was not seen after all."""
    since = _moment(request.POST.get("since", ""))
    if since:
        mark_seen(site_id=desk.site.pk, who=desk.person, until=since, now=desk.now)
        told(request, _("New again."))
    return go_back(request, reverse("desk:today", args=[desk.site.code]))


def _moment(text: str) -> datetime | None:
    try:
        moment = parse_datetime(text[:40])
    except ValueError:
        return None
    return moment if moment and moment.tzinfo else None
