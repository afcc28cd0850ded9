"""Putting events among what is owed to webhooks; in the transaction of the cause, so that neither stands alone.

Nothing is posted here. A site without webhooks pays one question for it.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings

from inspections.models import Alert, Webhook, WebhookMessage
from inspections.models.mutes import muted_at
from inspections.models.webhooks import Event
from openings.models import Opening, Site
from sitetrack.kit.clock import rfc3339

Told = tuple[Event, datetime, Mapping[str, Any]]


def announce(*, site_id: Any, tell: Callable[[], Iterable[Told]], now: datetime) -> None:
    """Owe each webhook of the site the events it listens to; `tell` is asked only where somebody listens."""
    listening = list(Webhook.objects.filter(site=site_id, stopped_at=None))
    if not listening:
        return
    WebhookMessage.objects.bulk_create(
        WebhookMessage(
            site_id=site_id,
            webhook=webhook,
            event=event,
            happened_at=happened_at,
            data=dict(data),
            owed_at=now,
            next_try_at=now,
        )
        for event, happened_at, data in tell()
        for webhook in listening
        if event in webhook.events
    )


def announce_alerts(*, site_id: Any, raised: list[Alert], closed: list[Alert], now: datetime) -> None:
    """Tell of alerts opened, opened again and closed."""
    if raised or closed:
        announce(site_id=site_id, tell=lambda: _alerts_told(site_id, raised, closed, now), now=now)


def _alerts_told(site_id: Any, raised: list[Alert], closed: list[Alert], now: datetime) -> Iterator[Told]:
    code = Site.objects.values_list("code", flat=True).get(pk=site_id)
    every = [*raised, *closed]
    openings = {alert.opening_id for alert in every if alert.opening_id}
    numbers = dict(Opening.objects.filter(pk__in=openings).values_list("pk", "number"))
    muted = set(Alert.objects.filter(muted_at(now), pk__in=[alert.pk for alert in every]).values_list("pk", flat=True))
    for alert in raised:
        told = _told_of(alert, code, numbers, muted=alert.pk in muted)
        yield Event.ALERT_RAISED, now, told
    for alert in closed:
        told = _told_of(alert, code, numbers, muted=alert.pk in muted)
        closing = {"closed_how": alert.closed_how, "closed_why": alert.closed_why}
        yield Event.ALERT_CLOSED, now, {**told, **closing}


def _told_of(alert: Alert, code: str, numbers: Mapping[UUID, str], *, muted: bool) -> dict[str, Any]:
    """What is told of an alert: what and where, no person, no reading."""
    return {
        "alert": str(alert.pk),
        "site": code,
        "opening": numbers.get(alert.opening_id) if alert.opening_id else None,
        "rule": alert.rule,
        "severity": str(alert.severity),
        "happened_at": rfc3339(alert.happened_at),
        "muted": muted,
        "address": f"{settings.PUBLIC_URL}/s/{code}/alerts?alert={alert.pk}",
    }
