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
class RuleCount:
    """How many open alerts a rule has."""

    rule: str
    severity: str
    count: int


def open_by_rule(site: Site, person: Person, *, now: datetime) -> tuple[RuleCount, ...]:
    """Open alerts counted by rule, the heaviest first; without those muted now. One query."""
    rows = (
        _open(site, person, now)
        .values("rule", "severity")
        .annotate(count=Count("pk"), weight=WEIGHT)
        .order_by("weight", "-count", "rule")
    )
    return tuple(RuleCount(row["rule"], row["severity"], row["count"]) for row in rows)


def alert_lines(
    site: Site, person: Person, *, now: datetime, most: int = MOST_ON_TODAY
) -> tuple[AlertLine, ...]:
    """Open alerts, the heaviest and oldest first; without those muted now. Two queries."""
    alerts = _open(site, person, now).annotate(weight=WEIGHT).order_by("weight", "rule", "happened_at", "pk")
    return lines_of(alerts[:most])


def muted_count(site: Site, person: Person, now: datetime) -> int:
    """How many open alerts are muted now. One query."""
    return int(Alert.objects.visible_to(person).filter(muted_at(now), site=site, closed_at=None).count())


def raised_between(site: Site, since: datetime, until: datetime, now: datetime) -> QuerySet[Alert]:
    """Alerts still open, not muted now, that were raised after one moment and by another, or whose mute ended then."""
    unmuted = covered_by(Mute.objects.ended_between(since, until))
    return (
        Alert.objects.filter(site=site, closed_at=None)
        .annotate(raised_at=Coalesce("reopened_at", "opened_at"))
        .filter(Q(raised_at__gt=since, raised_at__lte=until) | Q(unmuted, raised_at__lte=until))
        .exclude(muted_at(now))
    )


def _open(site: Site, person: Person, now: datetime) -> QuerySet[Alert]:
    alerts: QuerySet[Alert] = Alert.objects.visible_to(person).filter(site=site, closed_at=None).exclude(muted_at(now))
    return alerts


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
