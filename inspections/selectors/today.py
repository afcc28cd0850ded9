"""What the supervisor's morning page shows besides what is ready: how far it is, what is stuck, what came in.

Every function runs a fixed number of queries, however many openings the site has, and returns no more rows than its
bound says.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, F, Max, Q, Sum

from inspections.models import CheckIn, Hold, KeptAside, Progress
from inspections.models.checkins import Action
from openings.models import Floor, ScheduleRevision, Site
from sitetrack.access.models import Person
from sitetrack.kit.language import readers_language

MOST_HOLDS = 25
MOST_KEPT_ASIDE = 25
MOST_CHANGES = 160
MOST_REVISIONS = 40
MOST_FLOORS = 200


@dataclass(frozen=True, slots=True)
class FloorProgress:
    """How far a floor is. `earned` of `total` is weight of work, in no unit; dates are the site's."""

    floor_id: UUID
    floor: str
    building: str
    due_on: date | None
    days_left: int | None
    time_gone: int | None
    openings: int
    finished: int
    held: int
    earned: int
    total: int

    @property
    def percent(self) -> int:
        """Work done, in whole per cent, rounded down so that 100 means all of it."""
        return self.earned * 100 // self.total if self.total else 0

    @property
    def days_over(self) -> int:
        """How many days its date is past; none while it is not."""
        return max(0, -(self.days_left or 0))


@dataclass(frozen=True, slots=True)
class HoldLine:
    """An open hold: how old it is in whole days, and the stage it was reported at.

    `from_check`: a failed check opened it, and reading that check again releases it.
    """

    id: UUID
    number: str
    floor: str
    stage: str
    reason: str
    days: int
    over_limit: bool
    opened_at: datetime
    opened_by: str
    company: str
    from_check: bool


@dataclass(frozen=True, slots=True)
class AsideLine:
    """A check-in kept aside: what it named, and who sent it."""

    id: UUID
    reason: str
    opening: str
    stage: str
    action: str
    note: str
    person: str
    company: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class ChangeCount:
    """At how many openings one thing was reported: an action, and the verdict where it was a reading."""

    action: str
    verdict: str
    openings: int


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """What one company reported of one stage lately, and when the last of it arrived."""

    company: str
    stage: str
    counts: tuple[ChangeCount, ...]
    latest: datetime


def floor_progress(site: Site, person: Person, today: date) -> tuple[FloorProgress, ...]:
    """How far each floor is against its date, in walking order. Two queries.

    `time_gone` is the share, in per cent, of the days from the site's start to the floor's date that are past.
    """
    sums: Mapping[UUID, Mapping[str, Any]] = {
        row["floor_id"]: row
        for row in Progress.objects.visible_to(person)
        .filter(site=site, opening__in_schedule=True)
        .values("floor_id")
        .annotate(
            earned_in_all=Sum("earned"),
            total_in_all=Sum("total"),
            openings=Count("pk"),
            finished=Count("pk", filter=Q(earned=F("total"), total__gt=0)),
            held_now=Count("pk", filter=Q(held=True)),
        )
        .order_by()
    }
    floors = Floor.objects.visible_to(person).filter(site=site).select_related("building")[:MOST_FLOORS]
    return tuple(_floor_line(site, floor, sums.get(floor.pk, {}), today) for floor in floors)


def _floor_line(site: Site, floor: Floor, sums: Mapping[str, Any], today: date) -> FloorProgress:
    due = floor.due_on
    gone = None
    if due and site.starts_on and due > site.starts_on:
        share = (today - site.starts_on).days * 100 // (due - site.starts_on).days
        gone = max(0, min(100, share))
    return FloorProgress(
        floor_id=floor.pk,
        floor=str(floor),
        building=str(floor.building),
        due_on=due,
        days_left=(due - today).days if due else None,
        time_gone=gone,
        openings=sums.get("openings", 0),
        finished=sums.get("finished", 0),
        held=sums.get("held_now", 0),
        earned=sums.get("earned_in_all", 0),
        total=sums.get("total_in_all", 0),
    )


def open_holds(site: Site, person: Person, now: datetime) -> tuple[tuple[HoldLine, ...], int]:
    """The oldest open holds, and how many there are in all. Two queries."""
    holds = Hold.objects.visible_to(person).filter(site=site, released_at=None)
    limit = timedelta(days=site.hold_limit_days)
    lines = tuple(
        HoldLine(
            id=hold.pk,
            number=hold.opening.number,
            floor=str(hold.opening.floor),
            stage=hold.stage,
            reason=hold.reason_in(readers_language()),
            days=max(0, (now - hold.opened_at).days),
            over_limit=now - hold.opened_at > limit,
            opened_at=hold.opened_at,
            opened_by=str(hold.opened_by),
            company=str(hold.company),
            from_check=hold.from_check,
        )
        for hold in holds.select_related("opening__floor", "opened_by", "company")[:MOST_HOLDS]
    )
    return lines, holds.count()


def kept_aside(site: Site, person: Person) -> tuple[tuple[AsideLine, ...], int]:
    """Check-ins waiting to be placed, oldest first, and how many there are in all. Two queries."""
    waiting = KeptAside.objects.visible_to(person).filter(site=site, settled="")
    lines = tuple(
        AsideLine(
            id=item.pk,
            reason=item.reason,
            opening=str(item.payload.get("opening", "")),
            stage=str(item.payload.get("stage", "")),
            action=str(item.payload.get("action", "")),
            note=str(item.payload.get("note", "")),
            person=str(item.person),
            company=str(item.company),
            received_at=item.received_at,
        )
        for item in waiting.select_related("person", "company").order_by("received_at")[:MOST_KEPT_ASIDE]
    )
    return lines, waiting.count()


def changes_since(site: Site, person: Person, since: datetime) -> tuple[ChangeLine, ...]:
    """What arrived since a moment, by stage and company, latest first. One query, one more for a crew."""
    rows = (
        CheckIn.objects.visible_to(person)
        .filter(site=site, received_at__gte=since)
        .values("company__name", "stage", "action", "verdict")
        .annotate(openings=Count("opening", distinct=True), latest=Max("received_at"))
        .order_by("-latest", "stage", "company__name", "action", "verdict")[:MOST_CHANGES]
    )
    reported: dict[tuple[str, str], list[ChangeCount]] = defaultdict(list)
    latest: dict[tuple[str, str], datetime] = {}
    for row in rows:
        line = row["company__name"], row["stage"]
        reported[line].append(ChangeCount(row["action"], row["verdict"], row["openings"]))
        latest.setdefault(line, row["latest"])
    return tuple(
        ChangeLine(company, stage, tuple(sorted(counts, key=_as_it_goes)), latest[company, stage])
        for (company, stage), counts in reported.items()
    )


def _as_it_goes(count: ChangeCount) -> tuple[int, str]:
    """Actions in the order in which they happen at an opening."""
    return Action.values.index(count.action) if count.action in Action.values else len(Action.values), count.verdict


def revisions_since(site: Site, person: Person, since: datetime) -> tuple[ScheduleRevision, ...]:
    """Schedules taken in since a moment, latest first. One query."""
    revisions = ScheduleRevision.objects.visible_to(person).filter(site=site, taken_in_at__gte=since)
    return tuple(revisions.select_related("taken_in_by")[:MOST_REVISIONS])
