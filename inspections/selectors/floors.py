"""The openings of a floor in walking order, as the floor's drawing and list need them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from inspections.models import Alert, StageStanding
from inspections.selectors.stages import states_by_mark
from openings.models import Floor, Opening, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark
from sitetrack.access.models import Person

MOST_FLOORS = 200


@dataclass(frozen=True, slots=True)
class FloorName:
    """A floor of the site, for going from one to another."""

    id: UUID
    name: str
    building: str


@dataclass(frozen=True, slots=True)
class FloorOpening:
    """One opening of a floor: where it is and how it stands. `x` and `y` are metres along the plan, where known.

    `marked` tells how the stages stand that carry each mark of the opening's own plan.
    """

    number: str
    room_from: str
    room_to: str
    x: float | None
    y: float | None
    rating_text: str
    rating_minutes: int | None
    leaves: int | None
    hand: str
    in_schedule: bool
    marked: Mapping[Mark, tuple[str, ...]]
    next_stage: str
    next_trade: str
    other_trades: tuple[str, ...]
    earned: int
    total: int
    held: bool
    alerts: int

    @property
    def percent(self) -> int:
        """Work done, in whole per cent, rounded down."""
        return self.earned * 100 // self.total if self.total else 0


def floor_names(site: Site, person: Person) -> tuple[FloorName, ...]:
    """The site's floors in walking order. One query."""
    floors = Floor.objects.visible_to(person).filter(site=site).select_related("building")[:MOST_FLOORS]
    return tuple(FloorName(floor.pk, str(floor), str(floor.building)) for floor in floors)


COLUMNS = (
    "pk", "number", "room_from", "room_to", "x", "y", "rating_text", "rating_minutes", "leaves", "hand", "in_schedule",
    "plan", "progress__next_stage", "progress__next_trade", "progress__earned", "progress__total", "progress__held",
    "open_alerts",
)  # fmt: skip


def openings_of_floor(floor: Floor, person: Person) -> QuerySet[Any]:
    """The floor's openings in walking order, open alerts counted; for filtering, ordering and `floor_rows`."""
    openings: QuerySet[Any] = Opening.objects.visible_to(person).filter(floor=floor)
    return with_alerts(openings.filter(Q(in_schedule=True) | Q(progress__earned__gt=0))).order_by("walk", "number")


def with_alerts(openings: QuerySet[Any]) -> QuerySet[Any]:
    """The openings with their open alerts counted, as `floor_rows` needs them."""
    alerts = (
        Alert.objects.filter(opening=OuterRef("pk"), closed_at=None)
        .order_by()
        .values("opening")
        .annotate(n=Count("pk"))
        .values("n")
    )
    counted: QuerySet[Any] = openings.annotate(open_alerts=Subquery(alerts))
    return counted


def floor_rows(openings: QuerySet[Any]) -> QuerySet[Any]:
    """The same as plain rows for `floor_openings`: a floor shows hundreds, and whole objects would cost most of it."""
    rows: QuerySet[Any] = openings.values(*COLUMNS)
    return rows


def floor_openings(rows: Iterable[Mapping[str, Any]]) -> list[FloorOpening]:
    """A page of `floor_rows` as it is shown, with the states of the stages that bear a mark. Two queries.

    An opening not worked out yet has no states. The whole fold of each is not read: for a floor's picture it would be
    most of the work. Plans are read once in a process.
    """
    page = list(rows)
    codes = {plan: codes_by_mark(prepared_plan(plan).stages) for plan in {row["plan"] for row in page}}
    drawn = {code for marks in codes.values() for marked in marks.values() for code in marked}
    states: dict[UUID, dict[str, str]] = defaultdict(dict)
    trades: dict[UUID, dict[str, None]] = defaultdict(dict)
    standings = StageStanding.objects.filter(
        Q(stage__in=drawn) | Q(actionable=True), opening__in=[r["pk"] for r in page]
    )
    columns = ("opening_id", "stage", "state", "trade", "actionable")
    for opening, stage, state, trade, actionable in standings.order_by("opening", "place").values_list(*columns):
        states[opening][stage] = state
        if actionable:
            trades[opening][trade] = None
    return [
        _floor_opening(row, states_by_mark(codes[row["plan"]], states[row["pk"]]), trades[row["pk"]]) for row in page
    ]


def _floor_opening(
    row: Mapping[str, Any], marked: Mapping[Mark, tuple[str, ...]], trades: Iterable[str]
) -> FloorOpening:
    next_trade = row["progress__next_trade"] or ""
    return FloorOpening(
        number=row["number"],
        room_from=row["room_from"],
        room_to=row["room_to"],
        x=row["x"],
        y=row["y"],
        rating_text=row["rating_text"],
        rating_minutes=row["rating_minutes"],
        leaves=row["leaves"],
        hand=row["hand"],
        in_schedule=row["in_schedule"],
        marked=marked,
        next_stage=row["progress__next_stage"] or "",
        next_trade=next_trade,
        other_trades=tuple(trade for trade in trades if trade != next_trade),
        earned=row["progress__earned"] or 0,
        total=row["progress__total"] or 0,
        held=bool(row["progress__held"]),
        alerts=row["open_alerts"] or 0,
    )
