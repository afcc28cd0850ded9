"""Whether it was a new version of the sequence plan, and not evidence, that ended an alert."""

from collections.abc import Collection, Iterator
from typing import Any
from uuid import UUID

from inspections.models import Alert
from inspections.rules.table import OPENING_RULES
from inspections.services.alerts import Key, key_of
from inspections.services.cases import WorkedOut, work_out_cases
from openings.models import Opening, SequencePlan
from openings.selectors.plans import prepared_plan

TOLD_BY = ("site_id", "code", "version", "made_at")


def keys_found(worked: WorkedOut) -> Iterator[Key]:
    """What the rules find wrong at an opening, by what makes it the same alert."""
    for rule in OPENING_RULES:
        for finding in rule.find(worked.case):
            yield worked.opening.pk, finding.rule, finding.cause


def ended_by_plan(alerts: Collection[Alert]) -> set[Key]:
    """Those of the alerts, no longer found, that the version in force when they were opened would find to this day.

    Folds their openings once more by that version, with every check-in there is now. Alerts raised under the version
    that is in force still cost one query for all of them together.
    """
    wanted: dict[UUID, list[Any]] = {}
    openings = Opening.objects.filter(pk__in={alert.opening_id for alert in alerts}).select_related("plan")
    followed = {opening.pk: opening.plan for opening in openings.only("plan", *(f"plan__{name}" for name in TOLD_BY))}
    for alert in alerts:
        then_by = _in_force(followed[alert.opening_id], alert) if alert.opening_id in followed else None
        if then_by is not None:
            wanted.setdefault(then_by, []).append(alert.opening_id)
    found: set[Key] = set()
    for plan, ids in wanted.items():
        found |= {key for worked in work_out_cases(ids, prepared_plan(plan)) for key in keys_found(worked)}
    return found & {key_of(alert) for alert in alerts}


def _in_force(now_by: SequencePlan, alert: Alert) -> UUID | None:
    """The version in force when the alert was last opened, where another has taken its place since."""
    opened = alert.reopened_at or alert.opened_at
    if now_by.made_at is None or now_by.made_at <= opened:
        return None
    earlier = SequencePlan.objects.filter(site=now_by.site_id, code=now_by.code, version__lt=now_by.version)
    versions = earlier.order_by("-version").values_list("pk", "made_at")
    return next((pk for pk, made_at in versions if made_at is None or made_at <= opened), None)
