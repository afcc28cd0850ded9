"""Calendar feeds and components to hand over."""

import tempfile
from pathlib import Path
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from openings.models import Site
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import now as read_clock
from sitetrack.reports.handover.calendar_days import days_of
from sitetrack.reports.handover.calendar_file import calendar_lines
from sitetrack.reports.handover.calendar_keys import calendar_of, new_calendar_key
from sitetrack.reports.handover.component_rows import write_components, write_components_csv


@require_safe
def calendar(request: HttpRequest, key: str) -> HttpResponse:
    """A person's calendar of a site, by its secret address; no one signs in from a calendar program."""
    found = calendar_of(key)
    if found is None:
        raise Http404("This calendar's address is not good any more. Make a new one on the weekly sheet.")
    now = read_clock()
    lines = calendar_lines(found.site.name, days_of(found.site, found.person, now), now=now)
    response = HttpResponse(b"".join(lines), content_type="text/calendar; charset=utf-8")
    response.headers["Cache-Control"] = "private, no-store"
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


@require_POST
@login_required
def make_calendar_key(request: HttpRequest, code: str) -> HttpResponse:
    """Make the address of one's own calendar, and show it this once."""
    site = _site(request, code)
    person: Any = request.user
    key = new_calendar_key(site=site, who=person, now=read_clock())
    address = request.build_absolute_uri(reverse("reports:calendar", args=[key]))
    response = render(request, "reports/calendar_address.html", {"site": site, "address": address})
    response.headers["Cache-Control"] = "private, no-store"
    return response


@require_safe
@login_required
def components(request: HttpRequest, code: str, form: str) -> HttpResponseBase:
    """The frames as components for the hand-over; for those who see the whole site."""
    site = _site(request, code)
    person: Any = request.user
    standing = membership_of(person, site.pk)
    if standing is None or standing.role == Role.CREW:
        raise Http404("Not for crews.")
    now = read_clock()
    with tempfile.TemporaryDirectory(prefix="components-") as folder:
        path = Path(folder) / f"{site.code}-components-{now.astimezone(site.zone):%Y%m%d}.{form}"
        write = write_components_csv if form == "csv" else write_components
        write(site, path, now=now)
        response = FileResponse(path.open("rb"), as_attachment=True, filename=path.name)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _site(request: HttpRequest, code: str) -> Site:
    person: Any = request.user
    site = Site.objects.visible_to(person).filter(code=code).first()
    if site is None:
        raise Http404("No such site among yours.")
    return site
