"""What can be started now: by trade and floor, where signatures are waited for, and the walk past it all.

Every function runs a fixed number of queries, however many openings the site has.
"""

from collections import defaultdict
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, Min

from inspections.models import StageStanding
from openings.models import Site
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade

MOST_STOPS = 20
MOST_AT_A_STOP = 6


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


def ready_by_trade(site: Site, person: Person) -> tuple[TradeReady, ...]:
    """What each trade can act on now, by floor in walking order. Three queries."""
    standing = StageStanding.objects.visible_to(person).filter(site=site, actionable=True)
    per_stage = (
        standing.values("trade", "floor_id", "stage")
        .annotate(count=Count("pk"), first=Min("place"))
        .order_by("floor__building__code", "floor__level", "floor__code", "first")
        .values_list("trade", "floor_id", "floor__name", "floor__code", "stage", "count")
    )
    distinct = standing.values("trade", "floor_id").annotate(n=Count("opening", distinct=True)).order_by()
    openings = {(row["trade"], row["floor_id"]): row["n"] for row in distinct}
    stages: dict[tuple[str, UUID], dict[str, int]] = defaultdict(dict)
    names: dict[UUID, str] = {}
    for trade, floor_id, name, code, stage, count in per_stage:
        names[floor_id] = name or code
        in_stage = stages[trade, floor_id]
        in_stage[stage] = in_stage.get(stage, 0) + count
    companies = _companies_by_trade(site)
    found = []
    for trade in Trade.values:
        floors = tuple(
            FloorReady(floor_id, names[floor_id], openings[t, floor_id], tuple(StageCount(*s) for s in counts.items()))
            for (t, floor_id), counts in stages.items()
            if t == trade
        )
        if floors:
            found.append(TradeReady(trade, companies.get(trade, ()), sum(f.openings for f in floors), floors))
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


def the_walk(site: Site, person: Person, *, trade: str = "", most: int = MOST_STOPS) -> tuple[WalkStop, ...]:
    """The first openings at which something can be done, floor by floor in walking order. One query."""
    standing = StageStanding.objects.visible_to(person).filter(site=site, actionable=True)
    if trade:
        standing = standing.filter(trade=trade)
    rows = (
        standing.order_by("floor__building__code", "floor__level", "floor__code", "opening__walk", "opening__number",
                          "place")
        .values_list("opening__number", "floor__name", "floor__code", "stage", "trade")[: most * MOST_AT_A_STOP]
    )  # fmt: skip
    stops: dict[str, tuple[str, list[tuple[str, str]]]] = {}
    for number, name, code, stage, of_trade in rows:
        stops.setdefault(number, (name or code, []))[1].append((stage, of_trade))
    return tuple(WalkStop(number, floor, tuple(stages)) for number, (floor, stages) in list(stops.items())[:most])
