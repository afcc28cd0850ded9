"""Raising and closing alerts: by what the rules find, by evidence, or by a named person with a reason.

Every writer of alerts takes the site's lock before it reads what it will change, so that evidence never overwrites a
person's reason, nor a person evidence.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import translation
from django.utils.translation import gettext as _

from inspections.models import Alert
from inspections.models.alerts import ClosedHow
from inspections.rules.table import EXPLAINED
from openings.models import Site
from openings.services.changes import lock_site, mark_dirty, next_numbers
from sitetrack.access.models import Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.problems import BadInput, FieldError, Forbidden
from sitetrack.kit.undoing import must_be_ones_own_and_recent

Key = tuple[UUID | None, str, str]
WRITTEN = [
    "closed_at", "closed_how", "closed_by", "closed_why", "acknowledged_at", "acknowledged_by", "tried_at", "sent_at",
    "evidence",
    "seq",
]  # fmt: skip


def key_of(alert: Alert) -> Key:
    """What makes it the same alert when it is found again."""
    return alert.opening_id, alert.rule, alert.cause


def settle_alerts(*, site: Site, answered_for: QuerySet[Alert], found: Mapping[Key, Alert], now: datetime) -> None:
    """Make the alerts that this run answers for say what was found; inside the caller's transaction.

    A new finding opens an alert; an open alert no longer found is closed by evidence; one that evidence had closed is
    opened again if it is found after all. What a person closed stays closed. Nothing is deleted.
    """
    if any(_steps(site, answered_for, found, now)):
        lock_site(site.pk)
        new, changed = _steps(site, answered_for.all(), found, now)
        write_alerts(site.pk, new, changed)


def _steps(
    site: Site, answered_for: QuerySet[Alert], found: Mapping[Key, Alert], now: datetime
) -> tuple[list[Alert], list[Alert]]:
    existing = {key_of(alert): alert for alert in answered_for}
    changed = []
    for key, alert in existing.items():
        same = found.get(key)
        if same is None:
            if alert.closed_at is None:
                _close_by_evidence(alert, site, now)
                changed.append(alert)
        elif alert.closed_how == ClosedHow.EVIDENCE:
            _open_again(alert, same)
            changed.append(alert)
        elif alert.closed_at is None and alert.evidence != same.evidence:
            alert.evidence = same.evidence
            changed.append(alert)
    return [alert for key, alert in found.items() if key not in existing], changed


def _close_by_evidence(alert: Alert, site: Site, now: datetime) -> None:
    with translation.override(site.language):
        why = str(EXPLAINED[alert.rule])
    alert.closed_at, alert.closed_how, alert.closed_why = now, ClosedHow.EVIDENCE, why


def _open_again(alert: Alert, same: Alert) -> None:
    """As good as new: it is sent again, and someone must see it again."""
    alert.closed_at, alert.closed_how, alert.closed_why = None, "", ""
    alert.acknowledged_at = alert.acknowledged_by = alert.sent_at = alert.tried_at = None
    alert.evidence = same.evidence


def write_alerts(site_id: Any, new: list[Alert], changed: list[Alert]) -> None:
    """Store alerts opened and changed, numbered for those who follow the site."""
    if not (new or changed):
        return
    for alert, number in zip([*new, *changed], next_numbers(site_id, len(new) + len(changed)), strict=True):
        alert.seq = number
    Alert.objects.bulk_create(new)
    Alert.objects.bulk_update(changed, WRITTEN)


@transaction.atomic
def acknowledge(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Say that someone has seen an alert and is on it; the first to say so stays named."""
    alert = _locked(alert, who)
    if alert.acknowledged_at is None:
        alert.acknowledged_at, alert.acknowledged_by = now, who
        write_alerts(alert.site_id, [], [alert])
    return alert


@transaction.atomic
def close(*, alert: Alert, who: Person, why: str, now: datetime) -> Alert:
    """Close an alert by a named person with a reason; closing a closed one changes nothing."""
    alert = _locked(alert, who)
    if not why.strip():
        raise BadInput(
            _("An alert is closed with a reason."),
            errors=[FieldError("why", "empty", expected="what was found and done", example="Board off, frame reset.")],
        )
    if alert.closed_at is None:
        alert.closed_at, alert.closed_by, alert.closed_how, alert.closed_why = now, who, ClosedHow.PERSON, why.strip()
        write_alerts(alert.site_id, [], [alert])
    return alert


@transaction.atomic
def take_back_acknowledgement(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Say that one has not seen it after all; by who said so, soon after. Raises `Conflict` otherwise."""
    alert = _locked(alert, who)
    must_be_ones_own_and_recent(done_by=alert.acknowledged_by, done_at=alert.acknowledged_at, who=who, now=now)
    alert.acknowledged_at = alert.acknowledged_by = None
    write_alerts(alert.site_id, [], [alert])
    return alert


@transaction.atomic
def reopen(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Open again what one has closed by mistake; by who closed it, soon after. Raises `Conflict` otherwise.

    While it was closed by a person, evidence was not looked at; so its opening is worked out once more.
    """
    alert = _locked(alert, who)
    closed_by_person = alert.closed_at if alert.closed_how == ClosedHow.PERSON else None
    must_be_ones_own_and_recent(done_by=alert.closed_by, done_at=closed_by_person, who=who, now=now)
    alert.closed_at, alert.closed_by, alert.closed_how, alert.closed_why = None, None, "", ""
    write_alerts(alert.site_id, [], [alert])
    if alert.opening_id:
        mark_dirty(alert.site_id, [alert.opening_id], now)
    return alert


def _locked(alert: Alert, who: Person) -> Alert:
    """The alert as it stands now, held until commit, for someone who may answer it."""
    membership = membership_of(who, alert.site_id)
    if membership is None or membership.role not in {Role.SUPERVISOR, Role.INSPECTOR}:
        raise Forbidden(_("Alerts are answered by the supervisor or an inspector of the site."))
    lock_site(alert.site_id)
    return Alert.objects.select_related("site", "opening").get(pk=alert.pk)
