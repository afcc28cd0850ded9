"""Alerts that come from time passing, or belong to the site rather than to one opening."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db import transaction

from inspections.models import Alert, Hold, KeptAside
from inspections.models.alerts import Severity
from inspections.rules.table import HOLD_TOO_OLD, KEPT_ASIDE_WAITING
from inspections.services.alerts import key_of, settle_alerts
from openings.models import Site
from sitetrack.kit.clock import rfc3339


@transaction.atomic
def raise_site_alerts(*, site: Site, now: datetime) -> None:
    """Open and close the site's own alerts; running it twice changes nothing the second time."""
    answered_for = Alert.objects.filter(site=site, rule__in=[HOLD_TOO_OLD, KEPT_ASIDE_WAITING])
    found = {key_of(alert): alert for alert in (*_old_holds(site, now), *_kept_aside(site, now))}
    settle_alerts(site=site, answered_for=answered_for, found=found, now=now)


def _old_holds(site: Site, now: datetime) -> Iterator[Alert]:
    limit = now - timedelta(days=site.hold_limit_days)
    for hold in Hold.objects.filter(site=site, released_at=None, opened_at__lt=limit).select_related("company"):
        yield Alert(
            site=site,
            opening_id=hold.opening_id,
            rule=HOLD_TOO_OLD,
            cause=str(hold.pk),
            severity=Severity.WARNING,
            opened_at=now,
            happened_at=hold.opened_at,
            evidence={
                "reason": hold.reason,
                "opened_at": rfc3339(hold.opened_at),
                "company": hold.company.name,
            },
        )


def _kept_aside(site: Site, now: datetime) -> Iterator[Alert]:
    """One alert, whose cause is the latest item: a later one is a new cause, even if somebody closed the first."""
    waiting = list(KeptAside.objects.filter(site=site, settled="").order_by("seq").values_list("pk", "received_at"))
    if waiting:
        yield Alert(
            site=site,
            rule=KEPT_ASIDE_WAITING,
            cause=str(waiting[-1][0]),
            severity=Severity.WARNING,
            opened_at=now,
            happened_at=waiting[0][1],
            evidence={"count": len(waiting), "oldest": rfc3339(waiting[0][1])},
        )
