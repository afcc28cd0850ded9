"""Jobs. Each is a few lines around a service and harmless to run twice."""

import logging
from typing import Any

from inspections.services import audit, implausible_readings, sending, site_alerts, work_out
from openings.models import Site
from sitetrack.celery import app
from sitetrack.kit.clock import now

log = logging.getLogger(__name__)


@app.task
def work_out_readiness(opening_ids: list[Any]) -> None:
    """Refold these openings. Twice is harmless: the fold of the same check-ins is the same."""
    work_out.work_out(opening_ids=opening_ids, now=now())


@app.task
def sweep() -> None:
    """Do what was owed and never done. Twice is harmless: what is done is no longer owed."""
    work_out.sweep(now=now())


@app.task
def raise_alerts() -> None:
    """Look for what time alone brings, and for patterns in readings. Twice is harmless: an alert is one per cause."""
    for site in Site.objects.all():
        site_alerts.raise_site_alerts(site=site, now=now())
        implausible_readings.ask_about_readings(site=site, now=now())


@app.task
def send_alerts() -> None:
    """Mail critical alerts. Twice is harmless: a sent alert is marked."""
    sending.send_alerts(now=now())


@app.task
def audit_projection() -> None:
    """Refold a sample and report any difference. Twice is harmless: it only reads."""
    result = audit.audit_projection()
    if result.different:
        log.error("projection differs from the fold for %d openings: %s", len(result.different), result.different[:20])
