"""Downloads of the weekly status: the one issued where there is one, else made on the spot."""

import tempfile
from pathlib import Path, PurePosixPath
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
from sitetrack.reports.keeping import KeptFile, kept_file, kept_status
from sitetrack.reports.making import Format, make_status, paper_size, status_steps
from sitetrack.reports.making_page import Watched, is_big, made_file, watched
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.steps import Steps
from sitetrack.reports.week import Week, WeekError, parse_week

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
        wanted, kept = _wanted(site, week, form, edition)
        if kept is None and is_big(site):
            return watched(_work(site, parse_week(week), wanted, edition), who=person, now=now())
        file, name = (kept.open(), kept.name) if kept else _made(site, parse_week(week), wanted, edition)
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


def _wanted(site: Site, text: str, form: Format, edition: Edition | None) -> tuple[Format, KeptFile | None]:
    """The format that is meant, and the file of it that was issued, where it was."""
    week = parse_week(text)
    clock_of(site).period(week, now())  # a week that has not begun is refused before anything is sent
    if form is Format.PDF:
        form = Format.A4 if paper_size(site, form) == "a4" else Format.LETTER
    kept = kept_status(site, week) if edition is None else None
    return form, kept_file(kept, form) if kept else None


def _work(site: Site, week: Week, form: Format, edition: Edition | None) -> Watched:
    """The making of a file, to be watched."""
    asked_at = now()

    def make(folder: Path) -> Steps[Path]:
        made = yield from status_steps(
            site=site, week=week, now=asked_at, folder=folder, formats=[form], edition=edition
        )
        return made.files[0]

    return Watched(f"{_('Weekly status')} {week} · {site.name}", make, f"/s/{site.code}/weekly")


def _made(site: Site, week: Week, form: Format, edition: Edition | None) -> tuple[IO[bytes], str]:
    """An open file made on the spot, and its name. It has lost its folder, and goes when it is closed."""
    with tempfile.TemporaryDirectory(prefix="weekly-") as folder:
        made = make_status(site=site, week=week, now=now(), folder=Path(folder), formats=[form], edition=edition)
        return made.files[0].open("rb"), made.files[0].name


@require_safe
@login_required
def made(request: HttpRequest, token: str) -> HttpResponseBase:
    """A file that was made while its person watched."""
    person: Any = request.user
    file = made_file(token, person)
    if file is None:
        raise Http404("This link is not good any more. Make the file again.")
    response = FileResponse(file, as_attachment=True, filename=PurePosixPath(file.name or "").name)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _refused(request: HttpRequest, site: Site, words: str, *, status: int) -> HttpResponse:
    title = _("Weekly status")
    return render(request, "reports/refused.html", {"site": site, "title": title, "words": words}, status=status)
