"""Sheet F-4: alerts by rule, with their evidence; seen, and closed with a reason."""

from itertools import groupby
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from inspections.models import Alert
from inspections.rules.table import ADVICE, TITLES
from inspections.selectors.alerts import MOST_ON_PAGE, alert_lines, open_by_rule
from inspections.selectors.stages import site_stages
from inspections.services.alerts import acknowledge, close, reopen, take_back_acknowledgement
from inspections.tasks import work_out_readiness
from sitetrack.desk.sheets import ALERTS, Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, told, undone
from sitetrack.kit.jobs import enqueue
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
    told(request, _("Acknowledged."), undo=_undo(desk, "desk:unacknowledge", alert))
    return go_back(request, _address(desk))


@require_POST
@site_page
def unacknowledge_alert(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
    """Undo: one has not seen it after all."""
    alert = _alert(desk, alert_id)
    return undone(
        request,
        lambda: take_back_acknowledgement(alert=alert, who=desk.person, now=desk.now),
        said=_("Not acknowledged any more."),
        back=_address(desk),
    )


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
    told(request, _("Closed, with your reason on record."), undo=_undo(desk, "desk:reopen", alert))
    return go_back(request, _address(desk))


@require_POST
@site_page
def reopen_alert(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
    """Undo: open again what one closed by mistake."""
    alert = _alert(desk, alert_id)
    answer = undone(
        request,
        lambda: reopen(alert=alert, who=desk.person, now=desk.now),
        said=_("The alert is open again."),
        back=_address(desk),
    )
    if alert.opening_id:
        enqueue(work_out_readiness, [str(alert.opening_id)])
    return answer


def _undo(desk: Desk, name: str, alert: Alert) -> Undo:
    return Undo(reverse(name, args=[desk.site.code, alert.pk]))


def _address(desk: Desk) -> str:
    return reverse("desk:alerts", args=[desk.site.code])


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
