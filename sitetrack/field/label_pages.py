"""Choosing labels and printing them. Not under /field/, where a phone shows its own pages whatever is asked for."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import QuerySet
from django.db.models.functions import Upper
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from openings.models import Floor, Opening, OpeningList, Site
from openings.selectors.lists import visible_list
from sitetrack.field.label_grids import GRIDS
from sitetrack.field.labels import MOST_LABELS, label_of, label_sheets
from sitetrack.kit.ids import read_id

MOST_NUMBERS_TEXT = 60_000


@require_safe
@login_required
def choose_labels(request: HttpRequest, code: str) -> HttpResponse:
    """Which openings, on which grid, from which label of the first sheet on."""
    return _choose(request, _site(request, code))


@require_safe
@login_required
def print_labels(request: HttpRequest, code: str) -> HttpResponse:
    """The labels of the chosen floors or numbers as PDF, in walking order."""
    site = _site(request, code)
    grid = GRIDS.get(request.GET.get("grid", ""))
    if grid is None:
        return _choose(request, site, _("Choose one of the grids."))
    begin = request.GET.get("begin") or "1"
    if not (begin.isascii() and begin.isdigit() and 1 <= int(begin[:4]) <= grid.each):
        return _choose(request, site, _("Begin at a label from 1 to %(most)s.") % {"most": grid.each})
    openings = list(_chosen(request, site)[: MOST_LABELS + 1])
    if not openings:
        return _choose(request, site, _("No opening was picked: tick a floor, or give numbers that the schedule has."))
    if len(openings) > MOST_LABELS:
        return _choose(
            request, site, _("At most %(most)s labels at once. Choose fewer floors.") % {"most": MOST_LABELS}
        )
    content = label_sheets([label_of(opening, site) for opening in openings], grid, begin=int(begin) - 1)
    headers = {
        "Content-Disposition": f'inline; filename="{site.code}-labels.pdf"',
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(content, content_type="application/pdf", headers=headers)


def _site(request: HttpRequest, code: str) -> Site:
    person: Any = request.user
    site: Site | None = Site.objects.visible_to(person).filter(code=code).first()
    if site is None:
        raise Http404("No such site among yours.")
    return site


def _chosen(request: HttpRequest, site: Site) -> QuerySet[Opening]:
    person: Any = request.user
    openings = Opening.objects.visible_to(person).filter(site=site, in_schedule=True).select_related("floor")
    text = request.GET.get("numbers", "")[:MOST_NUMBERS_TEXT]
    listed = _list_asked(request, site)
    if listed is not None:
        openings = openings.filter(pk__in=listed.openings)
    elif text.strip():
        # One to a line or with commas between; a number may have a blank in it.
        numbers = {part.strip().upper() for line in text.splitlines() for part in line.split(",")}
        openings = openings.annotate(upper=Upper("number")).filter(upper__in=numbers - {""})
    else:
        openings = openings.filter(floor__in=_keys(request.GET.getlist("floor")))
    return openings.order_by("floor__building__code", "floor__level", "walk", "number")


def _list_asked(request: HttpRequest, site: Site) -> OpeningList | None:
    """The list of openings picked on the desk that labels are asked for, if one is."""
    person: Any = request.user
    return next((visible_list(site, person, key) for key in _keys([request.GET.get("list", "")])), None)


def _keys(texts: list[str]) -> list[UUID]:
    return [key for text in texts if (key := read_id(text))]


def _choose(request: HttpRequest, site: Site, refused: str = "") -> HttpResponse:
    context = {
        "site": site,
        "sheet": {"number": "F-11", "name": _("Labels")},
        "floors": Floor.objects.filter(site=site).select_related("building"),
        "grids": list(GRIDS.items()),
        "chosen": {
            "floors": request.GET.getlist("floor"),
            "list": _list_asked(request, site),
            "grid": request.GET.get("grid", ""),
            "numbers": request.GET.get("numbers", "")[:MOST_NUMBERS_TEXT],
            "begin": request.GET.get("begin", "1"),
        },
        "most": MOST_LABELS,
        "refused": refused,
    }
    return render(request, "field/labels.html", context, status=422 if refused else 200)
