"""Sheet F-4: alerts by rule, with their evidence; seen, and closed with a reason."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from inspections.models import Alert
from inspections.rules.table import ADVICE, TITLES
from inspections.selectors.alert_sheet import (
    CLOSED,
    GROUPINGS,
    MUTED,
    OPEN,
    PAGE,
    Asked,
    Group,
    alert_counts,
    alert_groups,
    alerts_asked,
    floors_with_alerts,
    mutes_of,
    severities,
)
from inspections.selectors.stages import site_stages
from inspections.services.alerts import (
    MOST_AT_ONCE,
    acknowledge,
    acknowledge_all,
    close,
    reopen,
    take_back_acknowledgement,
    take_back_acknowledgements,
)
from inspections.tasks import work_out_after_answer
from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import ALERTS, Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, refused, told, undone
from sitetrack.desk.words import word
from sitetrack.kit.ids import read_id
from sitetrack.kit.problems import Problem

LONGEST_REASON = 2000


@require_safe
@site_page
@live_page
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
    work_out_after_answer(alert)
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
    work_out_after_answer(alert)
    return answer


def _undo(desk: Desk, name: str, alert: Alert) -> Undo:
    return Undo(reverse(name, args=[desk.site.code, alert.pk]))


def _address(desk: Desk) -> str:
    return reverse("desk:alerts", args=[desk.site.code])


def _alert(desk: Desk, alert_id: UUID) -> Alert:
    alert: Alert = get_object_or_404(Alert.objects.visible_to(desk.person).filter(site=desk.site), pk=alert_id)
    return alert


@require_POST
@site_page
def acknowledge_chosen(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Say of several alerts at once that one has seen them."""
    try:
        seen = acknowledge_all(site=desk.site, ids=_ids(request), who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return go_back(request, _address(desk))
    said = ngettext("%(n)d alert acknowledged.", "%(n)d alerts acknowledged.", len(seen)) % {"n": len(seen)}
    ids = ",".join(str(alert.pk) for alert in seen)
    undo = Undo(reverse("desk:unacknowledge-chosen", args=[desk.site.code]), {"alerts": ids}) if seen else None
    told(request, said, undo=undo)
    return go_back(request, _address(desk))


@require_POST
@site_page
def unacknowledge_chosen(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Undo: one has not seen them after all."""
    return undone(
        request,
        lambda: take_back_acknowledgements(site=desk.site, ids=_ids(request), who=desk.person, now=desk.now),
        said=_("Not acknowledged any more."),
        back=_address(desk),
    )


def _ids(request: HttpRequest) -> list[UUID]:
    """The alerts chosen, one a field or all in one; what is no id is none of them."""
    given = [*request.POST.getlist("alert"), *request.POST.get("alerts", "").split(",")]
    found = (read_id(text) for text in given[: MOST_AT_ONCE + 1])
    return list(dict.fromkeys(each for each in found if each))


def _asked(request: HttpRequest) -> Asked:
    """What the address asks for; a word that means nothing here asks for everything."""
    given = request.GET
    show, by = given.get("show", ""), given.get("by", "")
    rule, severity = given.get("rule", ""), given.get("weight", "")
    return Asked(
        show=show if show in {OPEN, MUTED, CLOSED} else OPEN,
        by=by if by in GROUPINGS else "rule",
        rule=rule if rule in TITLES else "",
        severity=severity if severity in severities() else "",
        floor=read_id(given.get("floor", "")),
        alert=read_id(given.get("alert", "")),
    )


def _page(
    request: HttpRequest, desk: Desk, *, refused: dict[str, Any] | None = None, status: int = 200
) -> HttpResponse:
    asked, site, person = _asked(request), desk.site, desk.person
    found = alerts_asked(site, person, asked, desk.now)
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    mutes = mutes_of(site, person, holding_at=desk.now)
    floors = {floor.pk: floor for floor in floors_with_alerts(site, person)}
    shown_mutes = mutes if asked.show == MUTED or asked.alert else []
    groups = alert_groups(found, asked.by, mutes=shown_mutes, first=max(page.start_index() - 1, 0))
    context = {
        "stages": site_stages(site, person),
        "groups": [(_heading(group, asked.by, floors), _advice(group, asked), group) for group in groups],
        "titles": TITLES,
        "counts": alert_counts(site, person, desk.now),
        "mutes": len(mutes),
        "rules": sorted(TITLES.items(), key=lambda item: str(item[1])),
        "weights": severities(),
        "floors": floors.values(),
        "groupings": (("rule", _("rule")), ("weight", _("weight")), ("floor", _("floor"))),
        "asked": asked,
        "narrowed": bool(asked.rule or asked.severity or asked.floor or asked.alert),
        "page": page,
        "refused": refused,
    }
    return draw(request, desk, ALERTS, "desk/alerts.html", context, status=status)


def _heading(group: Group, by: str, floors: Mapping[Any, Any]) -> str:
    if by == "rule":
        return str(TITLES.get(group.key, group.key))
    if by == "weight":
        return word("severity", group.key).capitalize()
    floor = floors.get(group.key)
    return str(floor or next((line.floor for line in group.lines if line.floor), _("The whole site")))


def _advice(group: Group, asked: Asked) -> str:
    return str(ADVICE.get(group.key, "")) if asked.by == "rule" and asked.show == OPEN else ""
