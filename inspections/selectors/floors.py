"""The openings of a floor in walking order, as the floor's drawing and list need them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from inspections.models import Alert
from openings.models import Floor, Opening, Site
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
    """One opening of a floor: where it is and how it stands. `x` and `y` are metres along the plan, where known."""

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
    states: Mapping[str, str]
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


def openings_of_floor(floor: Floor, person: Person) -> QuerySet[Any]:
    """The floor's openings in walking order, with progress and open alerts counted; for filtering and ordering."""
    alerts = (
        Alert.objects.filter(opening=OuterRef("pk"), closed_at=None)
        .order_by()
        .values("opening")
        .annotate(n=Count("pk"))
        .values("n")
    )
    openings: QuerySet[Any] = Opening.objects.visible_to(person).filter(floor=floor)
    walked: QuerySet[Any] = (
        openings.filter(Q(in_schedule=True) | Q(progress__earned__gt=0))
        .select_related("progress")
        .annotate(open_alerts=Subquery(alerts))
        .order_by("walk", "number")
    )
    return walked


def floor_opening(opening: Opening) -> FloorOpening:
    """An opening of `openings_of_floor` as a page shows it; one not worked out yet has no states."""
    progress = getattr(opening, "progress", None)
    state = progress.state if progress else {}
    return FloorOpening(
        number=opening.number,
        room_from=opening.room_from,
        room_to=opening.room_to,
        x=opening.x,
        y=opening.y,
        rating_text=opening.rating_text,
        rating_minutes=opening.rating_minutes,
        leaves=opening.leaves,
        hand=opening.hand,
        in_schedule=opening.in_schedule,
        states={code: stage["state"] for code, stage in state.get("stages", {}).items()},
        next_stage=progress.next_stage if progress else "",
        next_trade=progress.next_trade if progress else "",
        other_trades=tuple(state.get("other_trades", ())),
        earned=progress.earned if progress else 0,
        total=progress.total if progress else 0,
        held=progress.held if progress else False,
        alerts=getattr(opening, "open_alerts", None) or 0,
    )
