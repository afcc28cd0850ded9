"""Sheet F-6: the weekly status of the last weeks, to download, and which of them were issued."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from sitetrack.access.rights import Right, allows
from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import WEEKLY, Desk, draw, site_page
from sitetrack.desk.told import go_back, refused, told
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import BadInput, Conflict
from sitetrack.reports.asking_for import ask_for_status
from sitetrack.reports.keeping import can_be_issued, kept_status
from sitetrack.reports.mailing_list import companies_of
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.tasks import make_weekly_status
from sitetrack.reports.views import READERS
from sitetrack.reports.week import ReportClock

WEEKS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class ListedWeek:
    """A week as the site counts it, from one cut-off to the next, and its status where one was issued."""

    name: str
    begins: datetime
    ends: datetime
    running: bool
    can_be_issued: bool
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
            can_be_issued=now >= can_be_issued(clock, week),
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
    role = desk.membership.role
    names = [company.name for company in companies_of(desk.site)] if role in READERS else []
    asked = request.GET.get("company", "")
    company = asked if asked in names else ""
    context = {
        "weeks": shown,
        "companies": names,
        "company": company,
        "edition": f"?{urlencode({'company': company})}" if company else "",
        "may_issue": allows(role, Right.MANAGE_OUTSIDE),
    }
    return draw(request, desk, WEEKLY, "desk/weekly.html", context)


@require_POST
@site_page
def issue(request: HttpRequest, desk: Desk, week: str) -> HttpResponse:
    """Have the status of a closed week made and kept. Has no undo: what is issued is never taken back."""
    if not allows(desk.membership.role, Right.MANAGE_OUTSIDE):
        raise PermissionDenied
    try:
        meant, kept = ask_for_status(site=desk.site, week=week, who=desk.person, now=desk.now)
    except (BadInput, Conflict) as problem:
        refused(request, problem)
    else:
        if kept is None:
            enqueue(make_weekly_status, desk.site.pk, str(meant))
            kept = kept_status(desk.site, meant)
        said = _("%(week)s is issued.") if kept else _("%(week)s is being made; this page shows it when it is issued.")
        told(request, said % {"week": meant})
    return go_back(request, reverse("desk:weekly", args=[desk.site.code]))
