"""The alerts that the Alerts sheet asks for: which, in which order, in which groups, a page at a time."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, F, Q, QuerySet

from inspections.models import Alert, Mute
from inspections.models.alerts import Severity
from inspections.models.mutes import muted_at
from inspections.selectors.alerts import WEIGHT, AlertLine, lines_of
from openings.models import Floor, Site
from sitetrack.access.models import Person

PAGE = 50
MOST_MUTES = 200
OPEN, MUTED, CLOSED = "open", "muted", "closed"
# By what the alerts can be grouped: the columns in whose order the groups stand, and the one that names the group.
GROUPINGS: Mapping[str, tuple[tuple[str, ...], str]] = {
    "weight": (("weight",), "severity"),
    "rule": (("weight", "rule"), "rule"),
    "floor": (("opening__floor__building__code", "opening__floor__level", "opening__floor__code"), "opening__floor"),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """Which alerts are asked for; empty means any. `alert` asks for one alone, wherever it stands."""

    show: str = OPEN
    by: str = "rule"
    rule: str = ""
    severity: str = ""
    floor: UUID | None = None
    alert: UUID | None = None


@dataclass(frozen=True, slots=True)
class Counts:
    """How many alerts are open, muted and closed."""

    open: int
    muted: int
    closed: int


@dataclass(frozen=True, slots=True)
class Group:
    """Alerts that share a weight, a rule or a floor: those on this page, and how many there are in all."""

    key: Any
    lines: tuple[AlertLine, ...]
    in_all: int


def alert_counts(site: Site, person: Person, now: datetime) -> Counts:
    """Alerts of the site counted as the sheet parts them. One query."""
    muted = Q(muted_at(now), closed_at=None)
    counts = (
        Alert.objects.visible_to(person)
        .filter(site=site)
        .aggregate(
            still_open=Count("pk", filter=Q(closed_at=None)),
            muted=Count("pk", filter=muted),
            closed=Count("pk", filter=Q(closed_at__isnull=False)),
        )
    )
    return Counts(counts["still_open"] - counts["muted"], counts["muted"], counts["closed"])


def alerts_asked(site: Site, person: Person, asked: Asked, now: datetime) -> QuerySet[Alert]:
    """The alerts asked for, in the order the sheet shows them."""
    alerts: QuerySet[Alert] = Alert.objects.visible_to(person).filter(site=site)
    if asked.alert:
        return alerts.filter(pk=asked.alert)
    alerts = alerts.filter(closed_at__isnull=asked.show != CLOSED)
    if asked.show == MUTED:
        alerts = alerts.filter(muted_at(now))
    elif asked.show == OPEN:
        alerts = alerts.exclude(muted_at(now))
    given = {"rule": asked.rule, "severity": asked.severity, "opening__floor": asked.floor}
    alerts = alerts.filter(**{name: value for name, value in given.items() if value})
    columns, _name = GROUPINGS[asked.by]
    latest = [F("closed_at").desc()] if asked.show == CLOSED else []
    return alerts.annotate(weight=WEIGHT).order_by(*columns, *latest, "weight", "happened_at", "pk")


def alert_groups(
    alerts: QuerySet[Alert], by: str, *, mutes: list[Mute], first: int = 0, most: int = PAGE
) -> tuple[Group, ...]:
    """One page of the alerts, in groups. Three queries."""
    _columns, name = GROUPINGS[by]
    in_all = dict(alerts.order_by().values_list(name).annotate(Count("pk")).values_list(name, "pk__count"))
    page = alerts[first : first + most]
    keys = {alert.pk: _key(alert, name) for alert in page.select_related("opening")}
    groups: dict[Any, list[AlertLine]] = {}
    for line in lines_of(page, mutes):
        if line.id in keys:
            groups.setdefault(keys[line.id], []).append(line)
    return tuple(Group(key, tuple(lines), in_all.get(key, len(lines))) for key, lines in groups.items())


def _key(alert: Alert, name: str) -> Any:
    if name == "opening__floor":
        return alert.opening.floor_id if alert.opening else None
    return getattr(alert, name)


def mutes_of(site: Site, person: Person, *, holding_at: datetime | None = None) -> list[Mute]:
    """Mutes of the site, the latest first; only those that hold at a moment, where one is given. One query."""
    mutes = Mute.objects.visible_to(person).filter(site=site)
    if holding_at:
        mutes = mutes.holding(holding_at)
    people = ("muted_by", "lifted_by")
    return list(mutes.select_related("floor", "wall", "opening", *people).order_by("-muted_at", "-pk")[:MOST_MUTES])


def floors_with_alerts(site: Site, person: Person) -> QuerySet[Floor]:
    """The floors where something is open. One query."""
    alerts = Alert.objects.visible_to(person).filter(site=site, closed_at=None, opening__isnull=False)
    return Floor.objects.filter(pk__in=alerts.values("opening__floor")).select_related("building")


def severities() -> tuple[str, ...]:
    """The weights, the heaviest first."""
    return tuple(Severity.values)
