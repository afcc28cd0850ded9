"""`manage.py due`: what beat would hand to the workers, done here and now."""

from typing import Any

from django.core.management.base import BaseCommand

from inspections import tasks
from sitetrack.reports.tasks import forecasts_due, weekly_status_due

DUE = (tasks.sweep, tasks.raise_alerts, tasks.send_alerts, tasks.post_webhooks, weekly_status_due, forecasts_due)


class Command(BaseCommand):
    """For servers that run without Redis: call it every few minutes, from cron or a timer."""

    help = (
        "Work out what is owed, raise and mail alerts, make the weekly status and the forecasts due. Twice is harmless."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        for task in DUE:
            task()
