"""Raising and closing alerts: by what the rules find, by evidence, or by a named person with a reason.

Every writer of alerts takes the site's lock before it reads what it will change, so that evidence never overwrites a
person's reason, nor a person evidence.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import translation
from django.utils.translation import gettext as _

from inspections.models import Alert
from inspections.models.alerts import ClosedHow
from inspections.rules.table import EXPLAINED, PLAN_CHANGED
from inspections.services.announcing import announce_alerts
from openings.models import Site
from openings.services.changes import lock_site, mark_dirty, next_numbers
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.undoing import must_be_ones_own_and_recent

Key = tuple[UUID | None, str, str]
MOST_AT_ONCE = 200
WRITTEN = [
    "closed_at", "closed_how", "closed_by", "closed_why", "acknowledged_at", "acknowledged_by", "reopened_at",
    "sent_at", "evidence", "seq",
]  # fmt: skip


@dataclass(slots=True)
class Steps:
    """What is to be written: alerts opened or opened again, closed, and otherwise changed."""

    raised: list[Alert] = field(default_factory=list)
    closed: list[Alert] = field(default_factory=list)
    changed: list[Alert] = field(default_factory=list)

    def all(self) -> list[Alert]:
        """Every alert that is written."""
        return [*self.raised, *self.closed, *self.changed]


def key_of(alert: Alert) -> Key:
    """What makes it the same alert when it is found again."""
    return alert.opening_id, alert.rule, alert.cause


def none_by_plan(_alerts: Collection[Alert]) -> Collection[Key]:
    """For alerts that no sequence plan has a part in."""
    return ()


def settle_alerts(
    *,
    site: Site,
    answered_for: QuerySet[Alert],
    found: Mapping[Key, Alert],
    now: datetime,
    ended_by_plan: Callable[[Collection[Alert]], Collection[Key]] = none_by_plan,
) -> None:
    """Make the alerts that this run answers for say what was found; inside the caller's transaction.

    A new finding opens an alert; an open alert no longer found is closed by evidence, or by a change of the plan where
    `ended_by_plan` says so; one so closed is opened again if it is found after all. What a person closed stays closed.
    Nothing is deleted.
    """
    if _steps(site, answered_for, found, now).all():
        lock_site(site.pk)
        steps = _steps(site, answered_for.all(), found, now)
        by_plan = ended_by_plan(steps.closed) if steps.closed else ()
        for alert in steps.closed:
            if key_of(alert) in by_plan:
                _close(alert, ClosedHow.PLAN, PLAN_CHANGED, site, now)
        write_alerts(site.pk, steps, now)


def _steps(site: Site, answered_for: QuerySet[Alert], found: Mapping[Key, Alert], now: datetime) -> Steps:
    existing = {key_of(alert): alert for alert in answered_for}
    steps = Steps()
    for key, alert in existing.items():
        same = found.get(key)
        if same is None:
            if alert.closed_at is None:
                _close(alert, ClosedHow.EVIDENCE, EXPLAINED[alert.rule], site, now)
                steps.closed.append(alert)
        elif alert.closed_how in {ClosedHow.EVIDENCE, ClosedHow.PLAN}:
            _open_again(alert, same, now)
            steps.raised.append(alert)
        elif alert.closed_at is None and alert.evidence != same.evidence:
            alert.evidence = same.evidence
            steps.changed.append(alert)
    steps.raised += [alert for key, alert in found.items() if key not in existing]
    return steps


def _close(alert: Alert, how: ClosedHow, explained: Any, site: Site, now: datetime) -> None:
    with translation.override(site.language):
        why = str(explained)
    alert.closed_at, alert.closed_how, alert.closed_why = now, how, why


def _open_again(alert: Alert, same: Alert, now: datetime) -> None:
    """As good as new: it is sent again, and someone must see it again."""
    alert.closed_at, alert.closed_how, alert.closed_why = None, "", ""
    alert.acknowledged_at = alert.acknowledged_by = alert.sent_at = None
    alert.reopened_at = now
    alert.evidence = same.evidence


def write_alerts(site_id: Any, steps: Steps, now: datetime) -> None:
    """Store alerts opened and changed, numbered for those who follow the site, and owe those who listen outside."""
    every = steps.all()
    if not every:
        return
    for alert, number in zip(every, next_numbers(site_id, len(every)), strict=True):
        alert.seq = number
    new = [alert for alert in every if alert._state.adding]  # noqa: SLF001 - Django's documented way to tell a new row
    known = [alert for alert in every if not alert._state.adding]  # noqa: SLF001
    Alert.objects.bulk_create(new)
    Alert.objects.bulk_update(known, WRITTEN)
    announce_alerts(site_id=site_id, raised=steps.raised, closed=steps.closed, now=now)


@transaction.atomic
def acknowledge(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Say that someone has seen an alert and is on it; the first to say so stays named."""
    alert = _locked(alert, who)
    if alert.acknowledged_at is None and alert.closed_at is None:
        alert.acknowledged_at, alert.acknowledged_by = now, who
        write_alerts(alert.site_id, Steps(changed=[alert]), now)
        _record(alert, who, now, Act.ACKNOWLEDGED)
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
        write_alerts(alert.site_id, Steps(closed=[alert]), now)
        _record(alert, who, now, Act.CLOSED, why=alert.closed_why)
        if alert.opening_id:  # what it held back may be ready now
            mark_dirty(alert.site_id, [alert.opening_id], now)
    return alert


@transaction.atomic
def take_back_acknowledgement(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Say that one has not seen it after all; by who said so, soon after. Raises `Conflict` otherwise."""
    alert = _locked(alert, who)
    must_be_ones_own_and_recent(done_by=alert.acknowledged_by, done_at=alert.acknowledged_at, who=who, now=now)
    alert.acknowledged_at = alert.acknowledged_by = None
    write_alerts(alert.site_id, Steps(changed=[alert]), now)
    _record(alert, who, now, Act.CHANGED, acknowledged="no")
    return alert


@transaction.atomic
def acknowledge_all(*, site: Site, ids: Collection[Any], who: Person, now: datetime) -> list[Alert]:
    """Acknowledge those of these alerts of the site that are open and nobody has acknowledged; gives them."""
    if not 0 < len(ids) <= MOST_AT_ONCE:
        raise BadInput(
            _("Choose from 1 to %(most)d alerts.") % {"most": MOST_AT_ONCE},
            errors=[FieldError("alert", "none or too many chosen", expected=f"1 to {MOST_AT_ONCE}")],
        )
    _must_answer(site.pk, who)
    lock_site(site.pk)
    waiting = list(Alert.objects.filter(site=site, pk__in=ids, acknowledged_at=None, closed_at=None).order_by("pk"))
    for alert in waiting:
        alert.acknowledged_at, alert.acknowledged_by = now, who
    write_alerts(site.pk, Steps(changed=waiting), now)
    if waiting:
        _record_many(site, who, now, Act.ACKNOWLEDGED, waiting)
    return waiting


@transaction.atomic
def take_back_acknowledgements(*, site: Site, ids: Collection[Any], who: Person, now: datetime) -> list[Alert]:
    """Take back several at once, all or none; raises `Conflict` where one of them is not one's own or too old."""
    _must_answer(site.pk, who)
    lock_site(site.pk)
    alerts = list(Alert.objects.filter(site=site, pk__in=list(ids)[:MOST_AT_ONCE]).order_by("pk"))
    for alert in alerts:
        must_be_ones_own_and_recent(done_by=alert.acknowledged_by, done_at=alert.acknowledged_at, who=who, now=now)
        alert.acknowledged_at = alert.acknowledged_by = None
    write_alerts(site.pk, Steps(changed=alerts), now)
    if alerts:
        _record_many(site, who, now, Act.CHANGED, alerts, acknowledged="no")
    return alerts


@transaction.atomic
def reopen(*, alert: Alert, who: Person, now: datetime) -> Alert:
    """Open again what one has closed by mistake; by who closed it, soon after. Raises `Conflict` otherwise.

    While it was closed by a person, evidence was not looked at; so its opening is worked out once more.
    """
    alert = _locked(alert, who)
    closed_by_person = alert.closed_at if alert.closed_how == ClosedHow.PERSON else None
    must_be_ones_own_and_recent(done_by=alert.closed_by, done_at=closed_by_person, who=who, now=now)
    alert.closed_at, alert.closed_by, alert.closed_how, alert.closed_why = None, None, "", ""
    write_alerts(alert.site_id, Steps(raised=[alert]), now)
    _record(alert, who, now, Act.REOPENED)
    if alert.opening_id:
        mark_dirty(alert.site_id, [alert.opening_id], now)
    return alert


def _locked(alert: Alert, who: Person) -> Alert:
    """The alert as it stands now, held until commit, for someone who may answer it."""
    _must_answer(alert.site_id, who)
    lock_site(alert.site_id)
    return Alert.objects.select_related("site", "opening", "acknowledged_by", "closed_by").get(pk=alert.pk)


def _must_answer(site_id: Any, who: Person) -> None:
    must(who, site_id, Right.ANSWER_ALERTS)


def _record(alert: Alert, who: Person, now: datetime, act: Act, **said: str) -> None:
    _record_many(alert.site, who, now, act, [alert], **said)


def _record_many(site: Site, who: Person, now: datetime, act: Act, alerts: list[Alert], **said: str) -> None:
    """One act of a person is one row of the audit trail, however many alerts it answered."""
    first = alerts[0]
    about: Alert | str = first if len(alerts) == 1 else f"{len(alerts)} alerts"
    differences = {name: ("", text) for name, text in said.items()}
    if len(alerts) == 1:
        differences = {"rule": ("", first.rule)} | differences
    record_change(site=site, who=who, now=now, kind=Kind.ALERT, act=act, about=about, differences=differences)
