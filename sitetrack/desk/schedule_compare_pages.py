"""Sheet F-5: two revisions side by side, and what was changed by hand."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from openings.models import ScheduleRevision
from openings.selectors.facts import TITLES
from openings.selectors.revisions import changes_by_hand, differences, revisions_of
from sitetrack.desk.sheets import SCHEDULE, Desk, draw, site_page
from sitetrack.desk.words import word

ON_PAGE = 200
CHOOSABLE = 200  # revisions to choose from
NOW = "now"
LISTED = "listed"


@require_safe
@site_page
def compare(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What the later of two chosen revisions says otherwise than the earlier; `now` is the schedule as it stands."""
    revisions = {str(one.n): one for one in revisions_of(desk.site, desk.person)[:CHOOSABLE]}
    last_two = list(revisions.values())[:2]
    earlier = revisions.get(request.GET.get("from", "")) or (last_two[-1] if last_two else None)
    later = revisions.get(request.GET.get("to", ""))
    if earlier and later and later.n < earlier.n:
        earlier, later = later, earlier
    context: dict[str, Any] = {
        "revisions": revisions.values(),
        "earlier": earlier,
        "later": later,
        "later_n": str(later.n) if later else NOW,
        "fields": [(LISTED, _("in the schedule or not")), *((fact, word("field", fact)) for fact in TITLES)],
        "field": request.GET.get("field", ""),
        "number": request.GET.get("number", "").strip()[:40],
    }
    if earlier:
        rows = _narrowed(desk, earlier, later, context["field"], context["number"])
        context["page"] = Paginator(rows, ON_PAGE).get_page(request.GET.get("page"))
    return draw(request, desk, SCHEDULE, "desk/schedule_compare.html", context)


@require_safe
@site_page
def by_hand(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every change of the schedule that a person made by hand: who, when, old and new."""
    page = Paginator(changes_by_hand(desk.site, desk.person), ON_PAGE).get_page(request.GET.get("page"))
    return draw(request, desk, SCHEDULE, "desk/schedule_by_hand.html", {"page": page})


def _narrowed(desk: Desk, earlier: ScheduleRevision, later: ScheduleRevision | None, field: str, number: str) -> Any:
    until = later.taken_in_at if later else None
    rows = differences(desk.site, desk.person, after=earlier.taken_in_at, until=until)
    if field == LISTED:
        rows = rows.filter(field="")
    elif field in TITLES:
        rows = rows.filter(field=field)
    return rows.filter(opening__number__icontains=number) if number else rows
