"""Sheet F-6: the weekly status of the last weeks, to download."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from sitetrack.desk.live import live_page
from sitetrack.desk.sheets import WEEKLY, Desk, draw, site_page

WEEKS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Week:
    """An ISO 8601 week: its name, such as 2026-W09, its Monday and its Sunday, and whether it is still running."""

    name: str
    monday: date
    sunday: date
    running: bool


def weeks_until(today: date, count: int = WEEKS_SHOWN) -> list[Week]:
    """The last `count` ISO weeks, the one of `today` first."""
    monday = today - timedelta(days=today.weekday())
    mondays = [monday - timedelta(weeks=back) for back in range(count)]
    return [Week(f"{m:%G-W%V}", m, m + timedelta(days=6), running=m == monday) for m in mondays]


@require_safe
@site_page
@live_page
def weekly(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list of weeks; none from before the site began."""
    began = desk.site.starts_on
    weeks = [week for week in weeks_until(desk.today) if began is None or week.sunday >= began]
    return draw(request, desk, WEEKLY, "desk/weekly.html", {"weeks": weeks})
