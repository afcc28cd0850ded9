"""What a forecast costs, and what counting a site for it and for its sheet does."""

from datetime import UTC, datetime

from inspections.selectors.weekly_progress import count_site
from openings.services.sites import open_site
from sitetrack.access.models import Company, Person
from sitetrack.demo.bench.figures import Figure, each_in_ms, milliseconds
from sitetrack.demo.bench.scratch import scratch_database
from sitetrack.demo.bench.weeks_of_work import weeks_of_work
from sitetrack.reports.forecasting import make_forecast
from sitetrack.reports.models import Forecast

OPENINGS, FLOORS, WEEKS, SAMPLES = 5_000, 20, 12, 5
MORNING = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)


def measure_forecast(*, quick: bool) -> list[Figure]:
    """In a data base of its own: lay the work down, count it, forecast it with its back-test, ask again."""
    count, floors, weeks = (OPENINGS // 50, 2, 4) if quick else (OPENINGS, FLOORS, WEEKS)
    with scratch_database():
        who = Person.objects.create_user("bench@example.com", name="Bench")
        firm = Company.objects.create(name="Bench")
        site = open_site(code="bench", name="Bench", supervisor=who, company=firm, now=MORNING)
        weeks_of_work(site, count, today=MORNING.date(), weeks=weeks, floors=floors, by=firm)
        counted = each_in_ms(f"{count} openings of {floors} floors counted", [lambda: count_site(site)] * SAMPLES)
        made = milliseconds(lambda: make_forecast(site=site, now=MORNING))
        again = each_in_ms("the same asked for again", [lambda: make_forecast(site=site, now=MORNING)] * SAMPLES)
        kept = Forecast.objects.get(site=site)
    return [
        counted,
        Figure(f"forecast and back-test, {kept.told['weeks']} weeks past", "ms", (made,)),
        again,
    ]
