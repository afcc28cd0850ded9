"""Alerts as pages show them: by weight, grouped by rule, with their evidence."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, IntegerField, QuerySet, Value, When

from inspections.models import Alert
from inspections.models.alerts import Severity
from openings.models import Site
from sitetrack.access.models import Company, Person

MOST_ON_TODAY = 12
MOST_ON_PAGE = 200
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


@dataclass(frozen=True, slots=True)
class RuleCount:
    """How many open alerts a rule has."""

    rule: str
    severity: str
    count: int


def open_by_rule(site: Site, person: Person) -> tuple[RuleCount, ...]:
    """Open alerts counted by rule, the heaviest first. One query."""
    rows = (
        Alert.objects.visible_to(person)
        .filter(site=site, closed_at=None)
        .values("rule", "severity")
        .annotate(count=Count("pk"), weight=WEIGHT)
        .order_by("weight", "-count", "rule")
    )
    return tuple(RuleCount(row["rule"], row["severity"], row["count"]) for row in rows)


def alert_lines(
    site: Site, person: Person, *, closed: bool = False, rule: str = "", most: int = MOST_ON_PAGE
) -> tuple[AlertLine, ...]:
    """Open alerts, the heaviest and oldest first, or closed ones, the latest first. Two queries."""
    alerts: QuerySet[Alert] = Alert.objects.visible_to(person).filter(site=site, closed_at__isnull=not closed)
    if rule:
        alerts = alerts.filter(rule=rule)
    if closed:
        alerts = alerts.order_by("-closed_at")
    else:
        alerts = alerts.annotate(weight=WEIGHT).order_by("weight", "rule", "happened_at")
    return lines_of(alerts[:most])


def lines_of(alerts: QuerySet[Alert]) -> tuple[AlertLine, ...]:
    """The alerts as pages show them. Two queries."""
    found = list(alerts.select_related("opening__floor", "acknowledged_by", "closed_by"))
    causes = {company for alert in found if (company := _company_of(alert))}
    companies = {str(pk): name for pk, name in Company.objects.filter(pk__in=causes).values_list("pk", "name")}
    return tuple(_line(alert, companies) for alert in found)


def _company_of(alert: Alert) -> str:
    """The key of the company that the evidence names, where it is one."""
    evidence = alert.evidence
    named = str(evidence.get("company") or evidence.get("evidence", {}).get("company") or "")
    return named if KEY.fullmatch(named) else ""


def _line(alert: Alert, companies: Mapping[str, str]) -> AlertLine:
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
    )
