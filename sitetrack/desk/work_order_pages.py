"""Sheet F-2, the work order: who does which stage at which openings, with what, and what to look out for. To print."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.dateparse import parse_date
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from inspections.selectors.stages import StageWords, site_stages
from inspections.selectors.work_orders import OrderLine, companies_on, likeliest_stage, order_lines
from inspections.services.profiles import profile_in_force
from inspections.services.takeoffs import kit_of
from inspections.standards.cautions import CAUTIONS, Caution, Topic
from inspections.standards.cautions_of_stages import topics_of
from sitetrack.access.models import Company
from sitetrack.desk.kit_pages import by_place
from sitetrack.desk.list_pages import list_or_404
from sitetrack.desk.sheets import Desk, Sheet, draw, site_page
from sitetrack.kit.language import readers_language

ORDER = Sheet("F-2", _("Work order"))
LONGEST_NOTE = 600
LONGEST_NAME = 120


@require_safe
@site_page
def order(request: HttpRequest, desk: Desk, list_id: UUID) -> HttpResponse:
    """The order for one stage of a list; the stage is the likeliest where none is asked for."""
    listed = list_or_404(desk, list_id)
    stages = site_stages(desk.site, desk.person)
    stage = request.GET.get("stage", "")
    if stage not in stages:
        stage = likeliest_stage(listed, desk.person) or next(iter(stages), "")
    lines = order_lines(listed, desk.person, stage)
    companies = companies_on(desk.site, desk.person)
    # Only what is to be done is loaded on the cart.
    going = [line for line in lines if line.to_do]
    _version, profile = profile_in_force(desk.site)
    kit = kit_of((line.opening for line in going), profile)
    context: dict[str, Any] = {
        "listed": listed,
        "stages": stages,
        "stage": stages.get(stage),
        "companies": companies,
        "company": _company(request.GET.get("company", ""), companies),
        "who": request.GET.get("who", "")[:LONGEST_NAME],
        "day": _day(request.GET.get("day", "")),
        "note": request.GET.get("note", "")[:LONGEST_NOTE],
        "going": going,
        "waiting": [line for line in lines if not line.to_do and not line.settled],
        "settled": [line for line in lines if line.settled],
        "kit": kit,
        "anchors": by_place(kit.list.anchors),
        "units": profile.units,
        "cautions": [(each.text(_language()), each.source) for each in cautions_for(stages.get(stage), lines)],
    }
    return draw(request, desk, ORDER, "desk/work_order.html", context)


def cautions_for(stage: StageWords | None, lines: Iterable[OrderLine]) -> list[Caution]:
    """What can hurt someone at this stage; what spoils a label only where an opening is rated, or may be."""
    if stage is None:
        return []
    rated = any(line.opening.rating_minutes != 0 for line in lines)
    topics = topics_of(trade=stage.trade, is_check=stage.is_check, marks=stage.marks)
    return [CAUTIONS[topic] for topic in topics if topic is not Topic.RATED or rated]


def _company(text: str, companies: Sequence[Company]) -> Company | None:
    return next((company for company in companies if str(company.pk) == text), None)


def _day(text: str) -> Any:
    try:
        return parse_date(text)
    except ValueError:
        return None


def _language() -> str:
    return readers_language()
