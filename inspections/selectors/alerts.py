"""Alerts as pages show them: by weight, grouped by rule, with their evidence."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, IntegerField, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce

from inspections.models import Alert, Mute
from inspections.models.alerts import Severity
from inspections.models.mutes import covered_by, muted_at
from openings.models import Site
from sitetrack.access.models import Company, Person

MOST_ON_TODAY = 12
KEY = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")

# The heaviest first; the words themselves do not sort that way.
WEIGHT = Case(
    *(When(severity=severity, then=Value(place)) for place, severity in enumerate(Severity.values)),
    output_field=IntegerField(),
)


@dataclass(frozen=True, slots=True)
class AlertLine:
    """One alert. `evidence` is what its rule stored; pages turn it to words. `company` is whose check-in set it off."""

    id: UUID
    rule: str
    severity: str
    number: str
    floor: str
    company: str
    happened_at: datetime
    opened_at: datetime
    evidence: Mapping[str, Any]
    acknowledged_at: datetime | None
    acknowledged_by: str
    closed_at: datetime | None
    closed_how: str
    closed_by: str
    closed_why: str
    muted: "Muted | None" = None


@dataclass(frozen=True, slots=True)
class Muted:
    """Who silenced an alert, until when and why."""

    by: str
    until: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class OpenCounts:
    """How many alerts wait for an answer, how many of those are critical, and how many are muted beside them."""

    open: int
    critical: int
    muted: int


def open_counts(site: Site, person: Person, *, now: datetime) -> OpenCounts:
    """The site's open alerts, counted. One query."""
    muted = Q(muted_at(now))
    counts = (
        Alert.objects.visible_to(person)
        .filter(site=site, closed_at=None)
        .aggregate(
            all=Count("pk"),
            muted=Count("pk", filter=muted),
            critical=Count("pk", filter=Q(severity=Severity.CRITICAL)),
            muted_critical=Count("pk", filter=muted & Q(severity=Severity.CRITICAL)),
        )
    )
    return OpenCounts(counts["all"] - counts["muted"], counts["critical"] - counts["muted_critical"], counts["muted"])


def alert_lines(site: Site, person: Person, *, now: datetime, most: int = MOST_ON_TODAY) -> tuple[AlertLine, ...]:
    """Open alerts, the heaviest and oldest first; without those muted now. Two queries."""
    alerts = Alert.objects.visible_to(person).filter(site=site, closed_at=None).exclude(muted_at(now))
    return lines_of(alerts.annotate(weight=WEIGHT).order_by("weight", "rule", "happened_at", "pk")[:most])


def raised_between(site: Site, since: datetime, until: datetime, now: datetime) -> QuerySet[Alert]:
    """Alerts still open, not muted now, that were raised after one moment and by another, or whose mute ended then."""
    unmuted = covered_by(Mute.objects.ended_between(since, until))
    return (
        Alert.objects.filter(site=site, closed_at=None)
        .annotate(raised_at=Coalesce("reopened_at", "opened_at"))
        .filter(Q(raised_at__gt=since, raised_at__lte=until) | Q(unmuted, raised_at__lte=until))
        .exclude(muted_at(now))
    )


def lines_of(alerts: QuerySet[Alert], mutes: Sequence[Mute] = ()) -> tuple[AlertLine, ...]:
    """The alerts as pages show them, with the one of these mutes that covers each. Two queries."""
    found = list(alerts.select_related("opening__floor", "acknowledged_by", "closed_by"))
    causes = {company for alert in found if (company := _company_of(alert))}
    companies = {str(pk): name for pk, name in Company.objects.filter(pk__in=causes).values_list("pk", "name")}
    return tuple(_line(alert, companies, mutes) for alert in found)


def _company_of(alert: Alert) -> str:
    """The key of the company that the evidence names, where it is one."""
    evidence = alert.evidence
    named = str(evidence.get("company") or evidence.get("evidence", {}).get("company") or "")
    return named if KEY.fullmatch(named) else ""


def _line(alert: Alert, companies: Mapping[str, str], mutes: Sequence[Mute]) -> AlertLine:
    return AlertLine(
        id=alert.pk,
        rule=alert.rule,
        severity=alert.severity,
        number=alert.opening.number if alert.opening else "",
        floor=str(alert.opening.floor) if alert.opening else "",
        company=companies.get(key, "") if (key := _company_of(alert)) else str(alert.evidence.get("company") or ""),
        happened_at=alert.happened_at,
        opened_at=alert.opened_at,
        evidence=alert.evidence,
        acknowledged_at=alert.acknowledged_at,
        acknowledged_by=str(alert.acknowledged_by or ""),
        closed_at=alert.closed_at,
        closed_how=alert.closed_how,
        closed_by=str(alert.closed_by or ""),
        closed_why=alert.closed_why,
        muted=next((Muted(str(m.muted_by), m.until, m.reason) for m in mutes if _covers(m, alert)), None),
    )


def _covers(mute: Mute, alert: Alert) -> bool:
    opening = alert.opening
    if opening is None or mute.rule != alert.rule:
        return False
    return (
        mute.opening_id == opening.pk
        or (mute.floor_id is not None and mute.floor_id == opening.floor_id)
        or (mute.wall_id is not None and mute.wall_id == opening.wall_id)
    )
