"""Sheet F-11: phones let in, when each was last heard of and how its clock stands, and stopping one."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from sitetrack.access.models import Device, Membership
from sitetrack.access.selectors.devices import DeviceQuerySet
from sitetrack.access.services.enrolment import CODE_LIFE, make_enrolment_code, revoke_device
from sitetrack.desk.setup import PHONES, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.kit.ids import read_id
from sitetrack.kit.problems import Problem

MOST_DEVICES = 500
MOST_PEOPLE = 500
CLOCK_FAR_OFF = timedelta(minutes=2)
JUMP_SHOWN = timedelta(days=14)


@require_safe
@site_page
def phones(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A supervisor sees every phone and program of the site, lets phones in and stops them; others see their own."""
    return _list(request, desk)


@require_POST
@site_page
def make_code(request: HttpRequest, desk: Desk) -> HttpResponse:
    """A code for one person's phone, shown once on this page and never again."""
    standing = _standing(desk, request.POST.get("person", ""))
    if standing is None:
        return _list(request, desk, refused=_("Choose whose phone it is."), status=422)
    try:
        code = make_enrolment_code(site_id=desk.site.pk, person=standing.person, who=desk.person, now=desk.now)
    except Problem as problem:
        return _list(request, desk, refused=problem.detail, status=problem.status)
    context = {"code": code, "standing": standing, "until": desk.now + CODE_LIFE}
    answer = draw(request, desk, PHONES, "desk/phone_code.html", context)
    answer["Cache-Control"] = "no-store"
    return answer


@require_POST
@site_page
def revoke(request: HttpRequest, desk: Desk, device_id: UUID) -> HttpResponse:
    """Stop a phone's token; what it sent stays, and what it still holds it sends once it is let in again."""
    device = get_object_or_404(DeviceQuerySet(Device).visible_to(desk.person), pk=device_id, site=desk.site)
    try:
        revoke_device(device=device, who=desk.person, now=desk.now)
    except Problem as problem:
        return _list(request, desk, refused=problem.detail, status=problem.status)
    messages.success(request, _("%(phone)s is stopped.") % {"phone": device.name})
    return redirect("setup:phones", code=desk.site.code)


def _list(request: HttpRequest, desk: Desk, *, refused: str = "", status: int = 200) -> HttpResponse:
    standings = _standings(desk)[:MOST_PEOPLE]
    companies = {standing.person_id: standing.company for standing in standings}
    devices = DeviceQuerySet(Device).visible_to(desk.person).filter(site=desk.site).select_related("person")
    devices = devices.order_by(F("revoked_at").desc(nulls_first=True), F("last_seen_at").desc(nulls_last=True), "id")
    lines = [_line(device, companies.get(device.person_id), desk) for device in devices[:MOST_DEVICES]]
    context = {
        "going": [line for line in lines if line["device"].revoked_at is None],
        "stopped": [line for line in lines if line["device"].revoked_at is not None],
        "standings": standings,
        "refused": refused,
        "manages": is_supervisor(desk),
        "minutes": CODE_LIFE // timedelta(minutes=1),
    }
    return draw(request, desk, PHONES, "desk/phones.html", context, status=status)


def _line(device: Device, company: Any, desk: Desk) -> dict[str, Any]:
    offset = None if device.clock_offset_ms is None else timedelta(milliseconds=device.clock_offset_ms)
    jumped = device.clock_jumped_at
    return {
        "device": device,
        "company": company,
        "drift": None if offset is None else _drift(offset),
        "far_off": offset is not None and abs(offset) >= CLOCK_FAR_OFF,
        "jumped": jumped if jumped and desk.now - jumped < JUMP_SHOWN else None,
    }


def _drift(offset: timedelta) -> str:
    """How a phone's clock stands, in words; the offset is what is added to it, so a slow clock has a positive one."""
    seconds = round(abs(offset).total_seconds())
    if seconds < 2:
        return _("shows the right time")
    if seconds < 120:
        amount = _("%(n)s s") % {"n": seconds}
    elif seconds < 7200:
        amount = _("%(n)s min") % {"n": round(seconds / 60)}
    elif seconds < 172_800:
        amount = _("%(n)s h") % {"n": round(seconds / 3600)}
    else:
        amount = _("%(n)s days") % {"n": round(seconds / 86_400)}
    return (_("%(amount)s behind") if offset > timedelta(0) else _("%(amount)s ahead")) % {"amount": amount}


def _standings(desk: Desk) -> Any:
    return (
        Membership.objects.filter(site=desk.site, ended_at=None, person__is_active=True)
        .select_related("person", "company")
        .order_by("company__name", "person__name")
    )


def _standing(desk: Desk, text: str) -> Membership | None:
    key = read_id(text)
    found: Membership | None = _standings(desk).filter(person=key).first() if key else None
    return found
