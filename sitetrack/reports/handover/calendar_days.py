"""The days a site looks forward to: holds due, floors to be proved, and when all of it is forecast to be done."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.models import Hold, StageStanding
from inspections.models.progress import StageState
from openings.models import Floor, SequencePlan, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark
from sitetrack.access.models import Person
from sitetrack.reports.forecasting import latest_forecast
from sitetrack.reports.handover.calendar_file import Day
from sitetrack.reports.models import Forecast

STALE_AFTER = timedelta(days=14)
MOST_HOLDS = 500
MOST_FLOORS = 500
PROVING = (Mark.PROVES_OPEN_WALL, Mark.PROVES_CLOSED_WALL)


def days_of(site: Site, person: Person, now: datetime) -> list[Day]:
    """What this person may see of the days ahead, in the site's language. A fixed number of queries."""
    with translation.override(site.language):
        return [*_holds(site, person), *_floors(site, person), *_forecast(site, person, now)]


def _holds(site: Site, person: Person) -> Iterator[Day]:
    """Each open hold on the day the site's limit for it ends."""
    holds = Hold.objects.visible_to(person).filter(site=site, released_at=None).select_related("opening", "company")
    for hold in holds.order_by("opened_at")[:MOST_HOLDS]:
        number = hold.opening.number
        yield Day(
            key=f"hold-{hold.pk}@{site.pk}",
            on=_day(hold.opened_at, site) + timedelta(days=site.hold_limit_days),
            title=_("Hold to be released: opening %(number)s") % {"number": number},
            notes=f"{hold.reason}\n{hold.company}".strip(),
            link=_link(site, f"openings/{number}"),
        )


def _floors(site: Site, person: Person) -> Iterator[Day]:
    """Each floor with a date and checks still to pass."""
    unproved = (
        StageStanding.objects.visible_to(person)
        .filter(_proving(site), site=site, opening__in_schedule=True)
        .exclude(state__in=(StageState.DONE, StageState.NOT_NEEDED))
        .order_by()
        .values_list("floor_id", "opening_id")
        .distinct()
    )
    left: dict[UUID, int] = {}
    for floor_id, _opening in unproved:
        left[floor_id] = left.get(floor_id, 0) + 1
    floors = Floor.objects.visible_to(person).filter(site=site, pk__in=left).exclude(due_on=None)
    for floor in floors.select_related("building")[:MOST_FLOORS]:
        count = left[floor.pk]
        if floor.due_on:
            yield Day(
                key=f"floor-{floor.pk}@{site.pk}",
                on=floor.due_on,
                title=_("Checks due: %(floor)s") % {"floor": f"{floor}, {floor.building}"},
                notes=ngettext("%(n)d opening not proved yet", "%(n)d openings not proved yet", count) % {"n": count},
                link=_link(site, f"floors/{floor.pk}"),
            )


def _proving(site: Site) -> Q:
    """The standings of stages that prove a frame, each by the codes of its opening's own plan. One query."""
    wanted = Q(pk__in=())
    for plan_id in SequencePlan.objects.filter(openings__site=site).distinct().values_list("pk", flat=True):
        codes = codes_by_mark(prepared_plan(plan_id).stages)
        proving = [code for mark in PROVING for code in codes.get(mark, ())]
        wanted |= Q(opening__plan=plan_id, stage__in=proving)
    return wanted


def _forecast(site: Site, person: Person, now: datetime) -> Iterator[Day]:
    """When each floor's frames are proved and all is finished, by the kept forecast; none once that is stale."""
    forecast = latest_forecast(site, person)
    if forecast is None or not forecast.told["site"] or forecast.as_of < _day(now, site) - STALE_AFTER:
        return
    yield from _told(site, forecast, f"forecast@{site.pk}", _("Forecast: all openings finished"), forecast.told["site"])
    ends = {each["floor"]: each["proved"] for each in forecast.told["floors"] if each["proved"]["range"]}
    floors = Floor.objects.visible_to(person).filter(site=site, pk__in=ends).select_related("building")
    for floor in floors[:MOST_FLOORS]:
        title = _("Forecast: every frame proved, %(floor)s") % {"floor": f"{floor}, {floor.building}"}
        yield from _told(site, forecast, f"forecast-{floor.pk}@{site.pk}", title, ends[str(floor.pk)])


def _told(site: Site, forecast: Forecast, key: str, title: str, end: Mapping[str, Any]) -> Iterator[Day]:
    """The day by which half of the runs had ended; none where they did not."""
    spread = end["range"]
    if spread and spread["median"]:
        words = {"day": forecast.as_of, "low": spread["low"], "high": spread["high"] or _("beyond three years")}
        yield Day(
            key=key,
            on=date.fromisoformat(spread["median"]),
            title=title,
            notes=_(
                "By the forecast of %(day)s half of the runs end by this day, eight of ten between %(low)s and "
                "%(high)s. A forecast, not a promise."
            )
            % words,
            link=_link(site, "progress"),
        )


def _day(moment: datetime, site: Site) -> date:
    return moment.astimezone(site.zone).date()


def _link(site: Site, path: str) -> str:
    return f"{settings.PUBLIC_URL}/s/{site.code}/{path}"
