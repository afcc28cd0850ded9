"""Alerts that come from time passing, or belong to the site rather than to one opening."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Count, Min

from inspections.models import Alert, Hold, KeptAside
from inspections.models.alerts import ClosedHow, Severity
from inspections.rules.table import HOLD_TOO_OLD, KEPT_ASIDE_WAITING
from inspections.services.alerts import write_alerts
from openings.models import Site
from sitetrack.kit.clock import rfc3339

NO_LONGER = "The hold was released or the check-ins were placed."


@transaction.atomic
def raise_site_alerts(*, site: Site, now: datetime) -> None:
    """Open and close the site's own alerts; running it twice changes nothing the second time."""
    # The site's row is locked first, so that two of these runs don't both open the same alert.
    Site.objects.select_for_update().get(pk=site.pk)
    existing = {
        (a.opening_id, a.rule, a.cause): a
        for a in Alert.objects.filter(site=site, rule__in=[HOLD_TOO_OLD, KEPT_ASIDE_WAITING])
    }
    found = {(a.opening_id, a.rule, a.cause): a for a in _found(site, now)}
    new = [alert for key, alert in found.items() if key not in existing]
    changed = []
    for key, alert in existing.items():
        if key in found and alert.closed_how == ClosedHow.EVIDENCE:
            alert.closed_at, alert.closed_how, alert.closed_why = None, "", ""
            alert.evidence = found[key].evidence
            changed.append(alert)
        elif key not in found and alert.closed_at is None:
            alert.closed_at, alert.closed_how, alert.closed_why = now, ClosedHow.EVIDENCE, NO_LONGER
            changed.append(alert)
    write_alerts(site.pk, new, changed)


def _found(site: Site, now: datetime) -> Iterator[Alert]:
    limit = now - timedelta(days=site.hold_limit_days)
    for hold in Hold.objects.filter(site=site, released_at=None, opened_at__lt=limit).select_related("company"):
        evidence = {"reason": hold.reason, "opened_at": rfc3339(hold.opened_at), "company": hold.company.name}
        yield _alert(site, HOLD_TOO_OLD, str(hold.pk), (hold.opening_id, hold.opened_at), now, evidence)
    waiting = KeptAside.objects.filter(site=site, settled="").aggregate(n=Count("pk"), first=Min("received_at"))
    if waiting["n"]:
        evidence = {"count": waiting["n"], "oldest": rfc3339(waiting["first"])}
        yield _alert(site, KEPT_ASIDE_WAITING, "waiting", (None, waiting["first"]), now, evidence)


def _alert(
    site: Site, rule: str, cause: str, where: tuple[UUID | None, datetime], now: datetime, evidence: dict[str, Any]
) -> Alert:
    return Alert(
        site=site,
        opening_id=where[0],
        rule=rule,
        cause=cause,
        severity=Severity.WARNING,
        opened_at=now,
        happened_at=where[1],
        evidence=evidence,
    )
