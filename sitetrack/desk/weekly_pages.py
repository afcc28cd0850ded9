"""Sheet F-6: the weekly status of the last weeks, to download, and which of them were issued."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import WEEKLY, Desk, draw, site_page
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.week import ReportClock

WEEKS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class ListedWeek:
    """A week as the site counts it, from one cut-off to the next, and its status where one was issued."""

    name: str
    begins: datetime
    ends: datetime
    running: bool
    issued: WeeklyStatus | None


def weeks_until(now: datetime, clock: ReportClock, issued: Mapping[str, WeeklyStatus]) -> list[ListedWeek]:
    """The last weeks, the one that a check-in of now counts in first."""
    running = clock.running(now)
    weeks = [running.shifted(-back) for back in range(WEEKS_SHOWN)]
    return [
        ListedWeek(
            name=str(week),
            begins=clock.cut_off(week.shifted(-1)),
            ends=clock.cut_off(week),
            running=week == running,
            issued=issued.get(str(week)),
        )
        for week in weeks
    ]


def _issued(desk: Desk) -> dict[str, WeeklyStatus]:
    """Of this site and for this person, by week, the latest."""
    since = desk.now - timedelta(weeks=WEEKS_SHOWN + 1)
    rows = WeeklyStatus.objects.visible_to(desk.person).filter(site=desk.site, cut_off__gte=since)
    return {row.iso_week: row for row in rows.only("iso_week", "made_at", "digest")[: WEEKS_SHOWN + 1]}


@require_safe
@site_page
@live_page
def weekly(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list of weeks; none from before the site began."""
    began = desk.site.starts_on
    weeks = weeks_until(desk.now, clock_of(desk.site), _issued(desk))
    shown = [week for week in weeks if began is None or week.ends.astimezone(desk.site.zone).date() >= began]
    return draw(request, desk, WEEKLY, "desk/weekly.html", {"weeks": shown})
