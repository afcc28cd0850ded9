"""Jobs of what is reported, a few lines around a service and harmless to run twice."""

from typing import Any

from openings.models import Site
from sitetrack.celery import app
from sitetrack.kit.clock import now
from sitetrack.kit.jobs import enqueue
from sitetrack.reports import mailing
from sitetrack.reports.forecasting import make_forecast, sites_without_todays
from sitetrack.reports.keeping import issue_status, weeks_owed
from sitetrack.reports.making_page import forget_made
from sitetrack.reports.week import parse_week


@app.task
def weekly_status_due() -> None:
    """Have every owed status made, each as a job of its own. Twice is harmless: what is issued is no longer owed."""
    for site in Site.objects.all():
        for week in weeks_owed(site, now()):
            enqueue(make_weekly_status, site.pk, str(week))
    forget_made(now=now())
    enqueue(mail_out)


@app.task
def mail_out() -> None:
    """Mail what waits. Twice is harmless: what is told is owed once, and what went is marked."""
    mailing.mail_out(now=now())


@app.task
def make_weekly_status(site_id: Any, week: str) -> None:
    """Issue one status. Twice is harmless: the one already kept is left as it is."""
    issue_status(site=Site.objects.get(pk=site_id), week=parse_week(week), now=now())


@app.task
def forecasts_due() -> None:
    """Have each site forecast once a day, each as a job of its own. Twice is harmless: a day's is no longer owed."""
    for site in sites_without_todays(now()):
        enqueue(forecast_site, site.pk)


@app.task
def forecast_site(site_id: Any) -> None:
    """Forecast one site. Twice is harmless: the same input gives the forecast already kept."""
    make_forecast(site=Site.objects.get(pk=site_id), now=now())
