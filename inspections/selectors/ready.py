"""What can be started now: by trade and floor, where signatures are waited for, and the walk past it all.

Every function runs a fixed number of queries, however many openings the site has.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, Min

from inspections.models import StageStanding
from openings.models import Site
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade

MOST_STOPS = 20
MOST_AT_A_STOP = 6
FLOOR_BY_FLOOR = ("floor__building__code", "floor__level", "floor__code")


@dataclass(frozen=True, slots=True)
class StageCount:
    """How many openings of a floor have this stage to act on."""

    stage: str
    count: int


@dataclass(frozen=True, slots=True)
class FloorReady:
    """What one trade can do on one floor; an opening counts once in `openings` however many stages it offers."""

    floor_id: UUID
    floor: str
    openings: int
    stages: tuple[StageCount, ...]


@dataclass(frozen=True, slots=True)
class TradeReady:
    """What one trade can do today, and the companies that do this trade here."""

    trade: str
    companies: tuple[str, ...]
    openings: int
    floors: tuple[FloorReady, ...]


def ready_by_trade(site: Site, person: Person, floors: Mapping[UUID, str]) -> tuple[TradeReady, ...]:
    """What each trade can act on now, by floor; `floors` are the site's by name, in walking order. Three queries.

    Floors are not joined: on a large site that would be done for tens of thousands of rows, to name a few floors.
    """
    standing = StageStanding.objects.visible_to(person).filter(site=site, actionable=True)
    per_stage = (
        standing.values("trade", "floor_id", "stage")
        .annotate(count=Count("pk"), first=Min("place"))
        .order_by("first")
        .values_list("trade", "floor_id", "stage", "count")
    )
    distinct = standing.values("trade", "floor_id").annotate(n=Count("opening", distinct=True)).order_by()
    openings = {(row["trade"], row["floor_id"]): row["n"] for row in distinct}
    stages: dict[tuple[str, UUID], list[StageCount]] = defaultdict(list)
    for trade, floor_id, stage, count in per_stage:
        stages[trade, floor_id].append(StageCount(stage, count))
    companies = _companies_by_trade(site)
    found = []
    for trade in Trade.values:
        there = tuple(
            FloorReady(floor_id, name, openings[trade, floor_id], tuple(stages[trade, floor_id]))
            for floor_id, name in floors.items()
            if (trade, floor_id) in openings
        )
        if there:
            found.append(TradeReady(trade, companies.get(trade, ()), sum(f.openings for f in there), there))
    return tuple(found)


def _companies_by_trade(site: Site) -> dict[str, tuple[str, ...]]:
    standing = Membership.objects.filter(site=site, ended_at=None, role=Role.CREW)
    found: dict[str, set[str]] = defaultdict(set)
    for company, trades in standing.values_list("company__name", "trades").distinct():
        for trade in trades:
            found[trade].add(company)
    return {trade: tuple(sorted(names)) for trade, names in found.items()}


@dataclass(frozen=True, slots=True)
class SignatureWait:
    """Readings of a stage on a floor that pass and wait for their signature."""

    floor_id: UUID
    floor: str
    stage: str
    count: int


def awaiting_signature(site: Site, person: Person) -> tuple[SignatureWait, ...]:
    """Where readings wait to be signed, by floor in walking order. One query."""
    rows = (
        StageStanding.objects.visible_to(person)
        .filter(site=site, awaits_signature=True)
        .values("floor_id", "floor__name", "floor__code", "stage")
        .annotate(count=Count("pk"))
        .order_by("floor__building__code", "floor__level", "floor__code", "stage")
    )
    return tuple(
        SignatureWait(row["floor_id"], row["floor__name"] or row["floor__code"], row["stage"], row["count"])
        for row in rows
    )


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One opening on the walk, and what can be done there."""

    number: str
    floor: str
    stages: tuple[tuple[str, str], ...]  # stage and trade


def the_walk(
    site: Site,
    person: Person,
    floors: Mapping[UUID, str],
    ready: Sequence[TradeReady],
    *,
    trade: str = "",
    most: int = MOST_STOPS,
) -> tuple[WalkStop, ...]:
    """The first openings at which something can be done, floor by floor; `ready` is what `ready_by_trade` told of them.

    One query: only the floors that the walk reaches are joined and sorted, not every opening of a large job.
    """
    standing = StageStanding.objects.visible_to(person).filter(site=site, actionable=True)
    if trade:
        standing = standing.filter(trade=trade)
        ready = [line for line in ready if line.trade == trade]
    wanted = most * MOST_AT_A_STOP
    rows = (
        standing.filter(floor__in=_first_floors(floors, ready, wanted))
        .order_by(*FLOOR_BY_FLOOR, "opening__walk", "opening__number", "place")
        .values_list("opening__number", "floor_id", "stage", "trade")[:wanted]
    )
    stops: dict[str, tuple[str, list[tuple[str, str]]]] = {}
    for number, floor, stage, of_trade in rows:
        stops.setdefault(number, (floors[floor], []))[1].append((stage, of_trade))
    return tuple(WalkStop(number, floor, tuple(stages)) for number, (floor, stages) in list(stops.items())[:most])


def _first_floors(floors: Mapping[UUID, str], ready: Sequence[TradeReady], wanted: int) -> list[UUID]:
    """The first floors that between them have so many stages to act on; all, where there are fewer."""
    counts: dict[UUID, int] = defaultdict(int)
    for line in ready:
        for floor in line.floors:
            counts[floor.floor_id] += sum(stage.count for stage in floor.stages)
    reached, found = [], 0
    for key in floors:
        if found >= wanted:
            break
        if counts[key]:
            reached.append(key)
            found += counts[key]
    return reached
