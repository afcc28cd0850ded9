"""Sheet F-4: alerts by rule, with their evidence; seen, and closed with a reason."""

from itertools import groupby
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from inspections.models import Alert
from inspections.rules.table import ADVICE, TITLES
from inspections.selectors.alerts import MOST_ON_PAGE, alert_lines, open_by_rule
from inspections.selectors.stages import site_stages
from inspections.services.alerts import acknowledge, close
from sitetrack.desk.sheets import ALERTS, Desk, draw, site_page
from sitetrack.kit.problems import Problem

LONGEST_REASON = 2000


@require_safe
@site_page
def alerts(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Open alerts grouped by rule, or the latest closed ones."""
    return _page(request, desk)


@require_POST
@site_page
def acknowledge_alert(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
    """Say that one has seen it."""
    alert = _alert(desk, alert_id)
    try:
        acknowledge(alert=alert, who=desk.person, now=desk.now)
    except Problem as problem:
        return _page(
            request, desk, refused={"id": alert_id, "why": "", "sentence": problem.detail}, status=problem.status
        )
    messages.success(request, _("Acknowledged."))
    return redirect("desk:alerts", code=desk.site.code)


@require_POST
@site_page
def close_alert(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
    """Close it with a reason."""
    alert = _alert(desk, alert_id)
    why = request.POST.get("why", "")[:LONGEST_REASON]
    try:
        close(alert=alert, who=desk.person, why=why, now=desk.now)
    except Problem as problem:
        refused = {"id": alert_id, "why": why, "sentence": problem.detail}
        return _page(request, desk, refused=refused, status=problem.status)
    messages.success(request, _("Closed, with your reason on record."))
    return redirect("desk:alerts", code=desk.site.code)


def _alert(desk: Desk, alert_id: UUID) -> Alert:
    alert: Alert = get_object_or_404(Alert.objects.visible_to(desk.person).filter(site=desk.site), pk=alert_id)
    return alert


def _page(
    request: HttpRequest, desk: Desk, *, refused: dict[str, Any] | None = None, status: int = 200
) -> HttpResponse:
    closed = request.GET.get("show") == "closed"
    rule = request.GET.get("rule", "")
    counts = open_by_rule(desk.site, desk.person)
    lines = alert_lines(desk.site, desk.person, closed=closed, rule=rule if rule in TITLES else "")
    by_rule = list(lines) if not closed else sorted(lines, key=lambda line: line.rule)
    groups = [
        (code, TITLES.get(code, code), ADVICE.get(code, ""), list(group))
        for code, group in groupby(by_rule, key=lambda line: line.rule)
    ]
    context = {
        "stages": site_stages(desk.site, desk.person),
        "groups": groups,
        "counts": [(count, TITLES.get(count.rule, count.rule)) for count in counts],
        "in_all": sum(count.count for count in counts),
        "shown": len(lines),
        "most": MOST_ON_PAGE,
        "closed": closed,
        "rule": rule,
        "refused": refused,
    }
    return draw(request, desk, ALERTS, "desk/alerts.html", context, status=status)
