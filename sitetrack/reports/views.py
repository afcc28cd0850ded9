"""Downloads of the weekly status: the one issued where there is one, else made on the spot."""

import tempfile
from pathlib import Path
from typing import IO, Any

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from openings.models import Site
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import now
from sitetrack.reports.keeping import kept_file, kept_status
from sitetrack.reports.making import Format, make_status
from sitetrack.reports.week import WeekError, parse_week

READERS = {Role.SUPERVISOR, Role.INSPECTOR, Role.VIEWER}


@require_safe
@login_required
def weekly_file(request: HttpRequest, code: str, week: str, form: Format) -> HttpResponseBase:
    """One file of a site's weekly status, for its supervisor, inspectors and viewers; strangers find nothing."""
    person: Any = request.user
    site = Site.objects.visible_to(person).filter(code=code).first()
    standing = membership_of(person, site.pk) if site else None
    if site is None or standing is None:
        raise Http404("No such site among yours.")
    if standing.role not in READERS:
        words = _(
            "The weekly status holds every company's figures. It is for the supervisor, inspectors and viewers of the "
            "site; ask the supervisor for your company's part."
        )
        return _refused(request, site, words, status=403)
    try:
        file, name = _opened(site, week, form)
    except WeekError as error:
        return _refused(request, site, str(error), status=404)
    response = FileResponse(file, as_attachment=True, filename=name)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _opened(site: Site, text: str, form: Format) -> tuple[IO[bytes], str]:
    """An open file and its name. One made on the spot has lost its folder, and goes when it is closed."""
    week = parse_week(text)
    kept = kept_status(site, week)
    path = kept_file(kept, form) if kept else None
    if path:
        return path.open("rb"), path.name
    with tempfile.TemporaryDirectory(prefix="weekly-") as folder:
        made = make_status(site=site, week=week, now=now(), folder=Path(folder), formats=[form])
        return made.files[0].open("rb"), made.files[0].name


def _refused(request: HttpRequest, site: Site, words: str, *, status: int) -> HttpResponse:
    return render(request, "reports/refused.html", {"site": site, "words": words}, status=status)
