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
from sitetrack.access.models import Company, Membership
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import now
from sitetrack.reports.edition import Edition, edition_of
from sitetrack.reports.keeping import kept_file, kept_status
from sitetrack.reports.making import Format, make_status, paper_size
from sitetrack.reports.week import WeekError, parse_week

READERS = {Role.SUPERVISOR, Role.INSPECTOR, Role.VIEWER}


@require_safe
@login_required
def weekly_file(request: HttpRequest, code: str, week: str, form: Format) -> HttpResponseBase:
    """One file of a site's weekly status; strangers find nothing.

    Supervisors, inspectors and viewers get the whole, or with `?company=` the edition of one; a crew gets its own
    company's edition, whatever it asks for.
    """
    person: Any = request.user
    site = Site.objects.visible_to(person).filter(code=code).first()
    standing = membership_of(person, site.pk) if site else None
    if site is None or standing is None:
        raise Http404("No such site among yours.")
    try:
        edition = _edition(site, standing, request.GET.get("company", ""))
        file, name = _opened(site, week, form, edition)
    except WeekError as error:
        return _refused(request, site, str(error), status=404)
    response = FileResponse(file, as_attachment=True, filename=name)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _edition(site: Site, standing: Membership, asked: str) -> Edition | None:
    if standing.role not in READERS:
        return edition_of(site, standing.company)
    if not asked:
        return None
    company = Company.objects.filter(name__iexact=asked, memberships__site=site).first()
    if company is None:
        raise Http404("No such company on this site.")
    return edition_of(site, company)


def _opened(site: Site, text: str, form: Format, edition: Edition | None) -> tuple[IO[bytes], str]:
    """An open file and its name. One made on the spot has lost its folder, and goes when it is closed."""
    week = parse_week(text)
    if form is Format.PDF:
        form = Format.A4 if paper_size(site, form) == "a4" else Format.LETTER
    kept = kept_status(site, week) if edition is None else None
    path = kept_file(kept, form) if kept else None
    if path:
        return path.open("rb"), path.name
    with tempfile.TemporaryDirectory(prefix="weekly-") as folder:
        made = make_status(site=site, week=week, now=now(), folder=Path(folder), formats=[form], edition=edition)
        return made.files[0].open("rb"), made.files[0].name


def _refused(request: HttpRequest, site: Site, words: str, *, status: int) -> HttpResponse:
    title = _("Weekly status")
    return render(request, "reports/refused.html", {"site": site, "title": title, "words": words}, status=status)
