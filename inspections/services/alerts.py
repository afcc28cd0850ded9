"""Raising and closing alerts: by what the rules find, by evidence, or by a named person with a reason."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from inspections.models import Alert
from inspections.models.alerts import ClosedHow
from inspections.rules.findings import Finding
from inspections.rules.table import OPENING_RULES
from openings.services.changes import next_numbers
from sitetrack.access.models import Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import from_ms
from sitetrack.kit.problems import BadInput, FieldError, Forbidden

FOUND_BY_FOLD = [rule.code for rule in OPENING_RULES]
EXPLAINED = "Check-ins that arrived later, or were taken back, show that the order was right."


def settle_alerts(site_id: Any, found: Mapping[UUID, Iterable[Finding]], now: datetime) -> None:
    """Make the alerts of these openings say what the rules found; the caller holds the openings' locks.

    New findings open an alert. An open alert no longer found is closed by evidence; one that evidence had closed is
    opened again if it is found after all. What a person closed stays closed. Nothing is deleted.
    """
    existing: dict[tuple[UUID | None, str, str], Alert] = {
        (a.opening_id, a.rule, a.cause): a
        for a in Alert.objects.filter(opening__in=list(found), rule__in=FOUND_BY_FOLD)
    }
    new, changed, keys = [], [], set()
    for opening_id, findings in found.items():
        for finding in findings:
            key: tuple[UUID | None, str, str] = (opening_id, finding.rule, finding.cause)
            keys.add(key)
            alert = existing.get(key)
            if alert is None:
                existing[key] = alert = _opened(site_id, opening_id, finding, now)
                new.append(alert)
            elif alert.closed_how == ClosedHow.EVIDENCE:
                alert.closed_at, alert.closed_how, alert.closed_why = None, "", ""
                changed.append(alert)
    for key, alert in existing.items():
        if key not in keys and alert.closed_at is None:
            alert.closed_at, alert.closed_how, alert.closed_why = now, ClosedHow.EVIDENCE, EXPLAINED
            changed.append(alert)
    write_alerts(site_id, new, changed)


def write_alerts(site_id: Any, new: list[Alert], changed: list[Alert]) -> None:
    """Store alerts opened and changed, numbered for those who follow the site."""
    if not (new or changed):
        return
    for alert, number in zip([*new, *changed], next_numbers(site_id, len(new) + len(changed)), strict=True):
        alert.seq = number
    Alert.objects.bulk_create(new)
    Alert.objects.bulk_update(changed, ["closed_at", "closed_how", "closed_why", "evidence", "seq"])


def _opened(site_id: Any, opening_id: UUID, finding: Finding, now: datetime) -> Alert:
    return Alert(
        site_id=site_id,
        opening_id=opening_id,
        rule=finding.rule,
        cause=finding.cause,
        severity=finding.severity,
        opened_at=now,
        happened_at=from_ms(finding.at),
        evidence=dict(finding.evidence),
    )


@transaction.atomic
def acknowledge(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Say that someone has seen an alert and is on it; the first to say so stays named."""
    _must_manage(alert, who)
    if alert.acknowledged_at is None:
        alert.acknowledged_at, alert.acknowledged_by = now, who
        alert.seq = next_numbers(alert.site_id, 1)[0]
        alert.save(update_fields=["acknowledged_at", "acknowledged_by", "seq"])
    return alert


@transaction.atomic
def close(*, alert: Alert, who: Person, why: str, now: datetime) -> Alert:
    """Close an alert by a named person with a reason; closing a closed one changes nothing."""
    _must_manage(alert, who)
    if not why.strip():
        raise BadInput(
            "An alert is closed with a reason.",
            errors=[FieldError("why", "empty", expected="what was found and done", example="Board off, frame reset.")],
        )
    if alert.closed_at is None:
        alert.closed_at, alert.closed_by, alert.closed_how, alert.closed_why = now, who, ClosedHow.PERSON, why.strip()
        alert.seq = next_numbers(alert.site_id, 1)[0]
        alert.save(update_fields=["closed_at", "closed_by", "closed_how", "closed_why", "seq"])
    return alert


def _must_manage(alert: Alert, who: Person) -> None:
    membership = membership_of(who, alert.site_id)
    if membership is None or membership.role not in {Role.SUPERVISOR, Role.INSPECTOR}:
        raise Forbidden("Alerts are answered by the supervisor or an inspector of the site.")
