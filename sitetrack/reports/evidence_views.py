"""Evidence packs to download, as PDF and as the JSON that proves it; everyone gets what they may see."""

import json
import tempfile
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import IO, Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.evidence.exporting import about, entries_of
from inspections.evidence.pack import Asked, Pack, gather_pack
from openings.models import Site
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.problems import BadInput, FieldError, Problem
from sitetrack.reports import offline_verify
from sitetrack.reports.evidence_pdf import evidence_steps, pack_about
from sitetrack.reports.making_page import Watched, watched
from sitetrack.reports.paper.sheet import SIZES
from sitetrack.reports.steps import Steps, finished

LONGEST = 60
MANY_CHECKS = 60  # in a print, from which its making takes some seconds and is worth watching


@require_safe
@login_required
def evidence(request: HttpRequest, code: str, form: str) -> HttpResponseBase:
    """A pack of an opening, a floor, a wall, or a range of days (`from`, `to`, both counted, on the site's clock)."""
    person: Any = request.user
    site = Site.objects.visible_to(person).filter(code=code).first()
    if site is None:
        raise Http404("No such site among yours.")
    now = read_clock()
    try:
        asked, size = _asked(request, site), _size(request)
        pack = gather_pack(site, person, asked)
    except Problem as problem:
        context = {"site": site, "title": _("Evidence of checks"), "words": problem.detail}
        return render(request, "reports/refused.html", context, status=problem.status)
    name = f"{site.code}-evidence-{now.astimezone(site.zone):%Y%m%d-%H%M}.{form}"

    def address(opening: Any) -> str:
        return request.build_absolute_uri(reverse("desk:opening", args=[site.code, opening.number]))

    def printed(folder: Path) -> Steps[Path]:
        yield from evidence_steps(pack, folder / name, size=size, address=address, now=now)
        return folder / name

    if form == "pdf" and sum(len(each.checks) for each in pack.openings) >= MANY_CHECKS:
        title = f"{_('Evidence of checks')} · {site.name}"
        return watched(Watched(title, printed, f"/s/{site.code}/evidence"), who=person, now=now)
    with tempfile.TemporaryDirectory(prefix="evidence-") as folder:
        path = Path(folder) / name
        if form == "pdf":
            finished(printed(Path(folder)))
        else:
            with path.open("w", encoding="utf-8") as file:
                write_evidence_json(pack, file, now=now)
        # The folder goes with the block; the open file stays readable until it was sent.
        response = FileResponse(path.open("rb"), as_attachment=True, filename=path.name)
    response.headers["Cache-Control"] = "private, no-store"
    return response


@require_safe
@login_required
def offline_script(request: HttpRequest) -> HttpResponseBase:
    """The page of code that proves a pack's JSON without this program."""
    script = Path(offline_verify.__file__)
    return FileResponse(script.open("rb"), as_attachment=True, filename=script.name, content_type="text/x-python")


def write_evidence_json(pack: Pack, file: IO[str], *, now: datetime) -> None:
    """Write a pack as JSON: what it shows in full, and the chain from its first entry to the end, as headings."""
    entries = [check.entry.n for each in pack.openings for check in each.checks if check.entry]
    said = about(pack.site) | {"form": "evidence-pack", "asked": pack_about(pack, now)}
    file.write('{"about": ' + json.dumps(said, ensure_ascii=False) + ',\n"entries": [')
    if entries:
        chain = entries_of(pack.site, with_content=pack.subjects, after=min(entries) - 1)
        for place, entry in enumerate(chain):
            file.write(("," if place else "") + "\n" + json.dumps(entry, ensure_ascii=False))
    file.write("]}\n")


def _asked(request: HttpRequest, site: Site) -> Asked:
    last = _day(request, "to")
    first = _day(request, "from")
    floor = request.GET.get("floor", "")
    try:
        floor_id = UUID(floor) if floor else None
    except ValueError as error:
        raise Http404("No such floor.") from error
    return Asked(
        number=request.GET.get("opening", "")[:LONGEST],
        floor_id=floor_id,
        wall=request.GET.get("wall", "")[:LONGEST],
        first=_midnight(first, site) if first else None,
        after=_midnight(last + timedelta(days=1), site) if last else None,
    )


def _day(request: HttpRequest, name: str) -> date | None:
    text = request.GET.get(name, "")
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
        if not 1970 <= day.year <= 2999:
            raise ValueError(text)
    except ValueError as error:
        wrong = FieldError(name, "not a day", read=text[:LONGEST], expected="a day of ISO 8601", example="2026-03-02")
        detail = f"{name}: {text[:LONGEST]!r} is not a day; expected a day such as 2026-03-02."
        raise BadInput(detail, errors=[wrong]) from error
    return day


def _midnight(day: date, site: Site) -> datetime:
    return datetime.combine(day, time.min, tzinfo=site.zone)


def _size(request: HttpRequest) -> str:
    size = request.GET.get("paper", "letter").lower()
    if size not in SIZES:
        wrong = FieldError("paper", "not a size known here", read=size[:20], expected="letter or a4", example="a4")
        raise BadInput(f"paper: {size[:20]!r} is not known here; expected letter or a4.", errors=[wrong])
    return size
