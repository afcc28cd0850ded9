"""Sheet F-12: how far the job is against its dates, what each company got done, and when the rest will be."""

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from inspections.selectors.weekly_progress import Counted, count_site, first_time_passes
from sitetrack.access.rights import Right, allows, must
from sitetrack.desk.forecast_lines import end_line, few_lines, floor_lines, trade_lines, tried_lines
from sitetrack.desk.progress_curve import Part, StageOf, curve_of, stages_of
from sitetrack.desk.progress_drawing import curve_label, draw_curve
from sitetrack.desk.sheets import PROGRESS, Desk, draw, site_page
from sitetrack.desk.throughput import companies_by_week, mondays, passes_of
from sitetrack.desk.told import go_back, refused, told
from sitetrack.desk.words import word
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import Forbidden
from sitetrack.reports.forecasting import KEPT_FOR, latest_forecast
from sitetrack.reports.models import Forecast
from sitetrack.reports.tasks import forecast_site

WHOLE = "site"


@require_safe
@site_page
def progress(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The curve of a part with the stored forecast, and the weeks of the companies; a crew sees its own weeks only."""
    counted = count_site(desk.site)
    stages = stages_of(counted)
    whole_site = allows(desk.membership.role, Right.READ_WHOLE_SITE)
    parts = _parts(counted, stages)
    asked = request.GET.get("of", WHOLE)
    asked = asked if asked in parts else WHOLE
    part, name = parts[asked]
    only = None if whole_site else desk.membership.company.name
    weeks = mondays(desk.today, counted)
    context: dict[str, Any] = {
        "whole_site": whole_site,
        "parts": _grouped(parts),
        "asked": asked,
        "name": name,
        "weeks": weeks,
        "companies": companies_by_week(counted, stages, part, weeks=weeks, only=only),
        "passes": passes_of(first_time_passes(desk.site), stages, only=only),
    }
    if whole_site:
        forecast = latest_forecast(desk.site, desk.person)
        context |= _curve(desk, counted, part, name, forecast) | _forecast(counted, part, forecast)
    return draw(request, desk, PROGRESS, "desk/progress.html", context)


@require_POST
@site_page
def forecast_again(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Have the forecast worked out now, by a worker where there is one, from what was done until yesterday evening."""
    try:
        must(desk.person, desk.site.pk, Right.READ_WHOLE_SITE)
    except Forbidden as refusal:
        refused(request, refusal)
    else:
        before = latest_forecast(desk.site, desk.person)
        enqueue(forecast_site, desk.site.pk)
        after = latest_forecast(desk.site, desk.person)
        still = _("Nothing has changed since the last forecast, or a worker is still at it: look again in a minute.")
        told(request, still if after == before else _("Forecast again."))
    return go_back(request, reverse("desk:progress", args=[desk.site.code]))


def _parts(counted: Counted, stages: StageOf) -> dict[str, tuple[Part, str]]:
    """What can be chosen, by what stands for it in the address."""
    trades = dict.fromkeys(str(stage.trade) for stage in stages.values())
    parts = {WHOLE: (Part(), _("the whole site"))}
    parts |= {f"trade:{trade}": (Part("trade", trade), word("trade", trade)) for trade in trades}
    many = len({floor.building_id for floor in counted.floors}) > 1
    for floor in counted.floors:
        name = f"{floor.building}, {floor}" if many else str(floor)
        parts[f"floor:{floor.pk}"] = (Part("floor", str(floor.pk)), name)
    return parts


def _grouped(parts: dict[str, tuple[Part, str]]) -> list[tuple[str, list[tuple[str, str]]]]:
    titles = {"site": "", "trade": _("Trades"), "floor": _("Floors")}
    return [
        (title, [(code, name) for code, (part, name) in parts.items() if part.of == of]) for of, title in titles.items()
    ]


def _curve(desk: Desk, counted: Counted, part: Part, name: str, forecast: Forecast | None) -> dict[str, Any]:
    curve = curve_of(counted, part, forecast.told if forecast else None, starts=desk.site.starts_on, today=desk.today)
    if not curve.total or not curve.now.done:
        return {"curve": None}
    drawn = draw_curve(curve, curve_label(curve, name))
    return {
        "curve": curve,
        "drawn": mark_safe(drawn),  # noqa: S308 - the drawing escapes its words itself
        "planned": any(point.planned is not None for point in curve.points),
        "banded": any(point.low is not None for point in curve.points),
    }


def _forecast(counted: Counted, part: Part, forecast: Forecast | None) -> dict[str, Any]:
    if forecast is None:
        return {"forecast": None}
    told_then = forecast.told
    ends = {"site": told_then["site"], "trade": told_then["trades"].get(part.key)}
    ends["floor"] = next((each["finished"] for each in told_then["floors"] if each["floor"] == part.key), None)
    end = ends[part.of]
    return {
        "forecast": forecast,
        "told": told_then,
        "forecast_ends": date.fromisoformat(told_then["ends_on"]) if told_then["ends_on"] else None,
        "kept_days": KEPT_FOR.days,
        "end": end_line(end) if end else None,
        "floors": floor_lines(told_then, counted.floors),
        "trades": trade_lines(told_then),
        "few": few_lines(told_then),
        "tried": tried_lines(told_then),
        "many_buildings": len({floor.building_id for floor in counted.floors}) > 1,
    }
