"""Part of sheet F-4: muting a rule where one of its alerts is, and the mutes of the site."""

from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections.models import Alert, Mute
from inspections.rules.table import MAY_BE_CRITICAL, TITLES
from inspections.selectors.alert_sheet import mutes_of
from inspections.services.mutes import lift_mute, longest_mute, mute, put_mute_back
from openings.models import Opening
from sitetrack.desk.sheets import ALERTS, Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, refused, told, undone
from sitetrack.kit.problems import Problem

DAY = timedelta(days=1)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def mute_here(request: HttpRequest, desk: Desk, alert_id: UUID) -> HttpResponse:
    """Silence an alert's rule at its opening, on its floor or in its type of wall, through a day."""
    alerts = Alert.objects.visible_to(desk.person).filter(site=desk.site, opening__isnull=False)
    alert: Any = get_object_or_404(alerts.select_related("opening__floor", "opening__wall"), pk=alert_id)
    if not desk.answers_alerts:
        raise Http404("Muting is for those who answer alerts.")
    opening: Opening = alert.opening
    areas = {"opening": opening, "floor": opening.floor, "wall": opening.wall}
    given = {name: request.POST.get(name, "")[:300] for name in ("area", "until", "reason")}
    problem: Problem | None = None
    if request.method == "POST":
        area = areas.get(given["area"]) or opening
        until = _end_of(given["until"], desk)
        try:
            made = mute(
                site=desk.site, rule=alert.rule, area=area, until=until, reason=given["reason"], who=desk.person,
                now=desk.now,
            )  # fmt: skip
        except Problem as caught:
            problem = caught
        else:
            told(request, _("Muted."), undo=Undo(reverse("desk:mute-lift", args=[desk.site.code, made.pk])))
            return redirect("desk:mutes", code=desk.site.code)
    context = {
        "title": TITLES.get(alert.rule, alert.rule),
        "critical": alert.rule in MAY_BE_CRITICAL,
        "days": longest_mute(alert.rule).days,
        # The mute lasts through the day, so the last whole one within the limit.
        "last": desk.today + longest_mute(alert.rule) - DAY,
        "areas": [(code, _area_named(code, area)) for code, area in areas.items() if area],
        "given": given if problem else {"area": "opening", "until": "", "reason": ""},
        "refused": problem,
    }
    return draw(request, desk, ALERTS, "desk/mute.html", context, status=problem.status if problem else 200)


@require_safe
@site_page
def mutes(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What is muted now, by whom and why, and what was."""
    holding = {made.pk for made in mutes_of(desk.site, desk.person, holding_at=desk.now)}
    named = [(made, TITLES.get(made.rule, made.rule)) for made in mutes_of(desk.site, desk.person)]
    context = {
        "holding": [line for line in named if line[0].pk in holding],
        "ended": [line for line in named if line[0].pk not in holding],
        "here": "mutes",
    }
    return draw(request, desk, ALERTS, "desk/mutes.html", context)


@require_POST
@site_page
def lift(request: HttpRequest, desk: Desk, mute_id: UUID) -> HttpResponse:
    """End a mute now; also the Undo of muting."""
    made = _mute(desk, mute_id)
    back = reverse("desk:mutes", args=[desk.site.code])
    try:
        lift_mute(mute=made, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return go_back(request, back)
    told(request, _("No longer muted."), undo=Undo(reverse("desk:mute-back", args=[desk.site.code, made.pk])))
    return go_back(request, back)


@require_POST
@site_page
def put_back(request: HttpRequest, desk: Desk, mute_id: UUID) -> HttpResponse:
    """Undo: mute again as it was."""
    made = _mute(desk, mute_id)
    return undone(
        request,
        lambda: put_mute_back(mute=made, who=desk.person, now=desk.now),
        said=_("Muted again."),
        back=reverse("desk:mutes", args=[desk.site.code]),
    )


def _mute(desk: Desk, mute_id: UUID) -> Mute:
    made: Mute = get_object_or_404(Mute.objects.visible_to(desk.person).filter(site=desk.site), pk=mute_id)
    return made


def _end_of(text: str, desk: Desk) -> datetime:
    """Midnight after the day, on the site's clock; what is no day has already ended, and is refused as that."""
    try:
        day = date.fromisoformat(text) + DAY
    except (ValueError, OverflowError):
        return desk.now
    return datetime.combine(day, time.min, tzinfo=desk.site.zone)


def _area_named(code: str, area: Any) -> str:
    names = {"opening": _("Opening %(name)s"), "floor": _("Floor %(name)s"), "wall": _("Walls of type %(name)s")}
    return names[code] % {"name": area}
