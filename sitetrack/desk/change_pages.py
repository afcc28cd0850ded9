"""The audit trail of a site, for its supervisors: who changed what, when, from what to what; and the same as a file."""

import csv
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from sitetrack.access.models import Person, RecordedChange
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.desk.change_words import field_word, thing_word, value_word
from sitetrack.desk.sheets import Desk, Sheet, draw, site_page
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.ids import read_id
from sitetrack.kit.problems import Forbidden
from sitetrack.reports.cells import clean, disarmed

CHANGES = Sheet("F-11", _("Changes"), "setup:changes")
ON_A_PAGE = 100
MOST_PEOPLE = 500
MOST_IN_FILE = 100_000
COLUMNS = ("at", "who", "kind", "act", "named", "field", "before", "after")


class _Line:
    """Takes what the writer of CSV writes and gives it back, so that a long file is never held whole."""

    def write(self, text: str) -> str:
        return text


@require_safe
@site_page
def changes(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The latest changes first, narrowed by who, kind and day, a bounded page at a time."""
    try:
        must(desk.person, desk.site.pk, Right.READ_CHANGES)
    except Forbidden as refusal:
        return draw(request, desk, CHANGES, "desk/changes_trail.html", {"refused": refusal.detail}, status=403)
    rows = _narrowed(request, desk)
    if (before := read_id(request.GET.get("before", ""))) is not None:
        at = RecordedChange.objects.filter(site=desk.site, pk=before).values_list("at", flat=True).first()
        rows = rows.filter(Q(at__lt=at) | Q(at=at, pk__lt=before)) if at else rows.none()
    page = list(rows.select_related("who")[: ON_A_PAGE + 1])
    asked = request.GET.copy()
    asked.pop("before", None)
    context = {
        "lines": [_told(row) for row in page[:ON_A_PAGE]],
        "earlier": page[ON_A_PAGE - 1].pk if len(page) > ON_A_PAGE else None,
        "asked": asked.urlencode(),
        "given": request.GET,
        "kinds": Kind.choices,
        "people": Person.objects.filter(memberships__site=desk.site).distinct()[:MOST_PEOPLE],
    }
    return draw(request, desk, CHANGES, "desk/changes_trail.html", context)


@require_safe
@site_page
def changes_csv(request: HttpRequest, desk: Desk) -> Any:
    """The same as CSV (RFC 4180), one line a field, in codes that programs read; cells are made harmless."""
    try:
        must(desk.person, desk.site.pk, Right.READ_CHANGES)
    except Forbidden as refusal:
        return HttpResponse(refusal.detail, status=403, content_type="text/plain; charset=utf-8")
    answer = StreamingHttpResponse(_written(_narrowed(request, desk)), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{desk.site.code}-changes.csv"'
    return answer


def _written(rows: Any) -> Iterator[str]:
    writer = csv.writer(_Line())
    yield writer.writerow(COLUMNS)
    for row in rows.select_related("who")[:MOST_IN_FILE].iterator(chunk_size=500):
        told = [rfc3339(row.at), str(row.who or ""), row.kind, row.act, row.named]
        for difference in row.differences or [["", "", ""]]:
            yield writer.writerow([disarmed(clean(cell)) for cell in (*told, *difference)])


def _narrowed(request: HttpRequest, desk: Desk) -> Any:
    """The site's changes as asked for; what can't be read as a filter narrows nothing."""
    rows = RecordedChange.objects.visible_to(desk.person).filter(site=desk.site)
    if (who := read_id(request.GET.get("who", ""))) is not None:
        rows = rows.filter(who=who)
    if (kind := request.GET.get("kind", "")) in Kind.values:
        rows = rows.filter(kind=kind)
    if (since := _day(request.GET.get("since", ""), desk)) is not None:
        rows = rows.filter(at__gte=since)
    if (until := _day(request.GET.get("until", ""), desk)) is not None:
        rows = rows.filter(at__lt=until + timedelta(days=1))
    return rows


def _day(text: str, desk: Desk) -> datetime | None:
    """The beginning of a day on the site's own clock."""
    try:
        return datetime.combine(date.fromisoformat(text), time(), tzinfo=desk.site.zone)
    except ValueError:
        return None


def _told(row: RecordedChange) -> dict[str, Any]:
    """One change in words; the codes are in the file."""
    return {
        "row": row,
        "kind": _label(Kind, row.kind),
        "act": _label(Act, row.act),
        "named": thing_word(row.kind, row.named),
        "differences": [
            (field_word(row.kind, field), value_word(row.kind, field, before) if before else "",
             value_word(row.kind, field, after))
            for field, before, after in row.differences
        ],
    }  # fmt: skip


def _label(choices: Any, code: str) -> Any:
    return choices(code).label if code in choices.values else code
