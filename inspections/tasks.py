"""Jobs. Each is a few lines around a service and harmless to run twice."""

import logging
from typing import Any

from inspections.models import Alert
from inspections.services import audit, implausible_readings, posting_webhooks, sending, site_alerts, work_out
from openings.models import Site
from sitetrack.celery import app
from sitetrack.kit.clock import now
from sitetrack.kit.jobs import enqueue

log = logging.getLogger(__name__)


@app.task
def work_out_readiness(opening_ids: list[Any]) -> None:
    """Refold these openings. Twice is harmless: the fold of the same check-ins is the same."""
    work_out.work_out(opening_ids=opening_ids, now=now())


def work_out_after_answer(alert: Alert) -> None:
    """Have its opening worked out after a person closed or opened an alert: what it holds back changes with it."""
    if alert.opening_id:
        enqueue(work_out_readiness, [str(alert.opening_id)])


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
    """Mail alerts. Twice is harmless: what is told is owed once, and what went is marked."""
    sending.send_alerts(now=now())


@app.task
def post_webhooks() -> None:
    """Hand out each webhook with something due. Twice is harmless: a message is claimed before it is posted."""
    for webhook_id in posting_webhooks.webhooks_due(now=now()):
        enqueue(post_webhook, str(webhook_id))


@app.task
def post_webhook(webhook_id: Any) -> None:
    """Post what is due to one webhook. Twice is harmless: whoever receives knows a message by its id."""
    posting_webhooks.post_due(webhook_id=webhook_id, now=now())


@app.task
def audit_projection() -> None:
    """Refold a sample and report any difference. Twice is harmless: it only reads."""
    result = audit.audit_projection()
    if result.different:
        log.error("projection differs from the fold for %d openings: %s", len(result.different), result.different[:20])
