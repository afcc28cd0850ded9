"""Openings found by a part of their number, their frame mark or their rooms."""

from dataclasses import dataclass

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from inspections.selectors.floors import COLUMNS, FloorOpening, floor_openings, with_alerts
from openings.models import Opening, Site
from sitetrack.access.models import Person

MOST_FOUND = 50
MOST_WORDS = 6  # each is one more condition on every row
WHERE = ("number", "mark", "room_from", "room_to")


@dataclass(frozen=True, slots=True)
class Hit:
    """An opening found: where it is, and how it stands."""

    opening: FloorOpening
    mark: str
    floor: str
    building: str


@dataclass(frozen=True, slots=True)
class Found:
    """The best hits first; `more` where the bound left some out."""

    hits: tuple[Hit, ...]
    more: bool


def find_openings(site: Site, person: Person, typed: str) -> Found:
    """Openings that have every word typed in their number, mark or a room. Two queries.

    First those whose number begins with what was typed, then those that hold it, then those of that mark, then the
    others; each in walking order.
    """
    openings: QuerySet[Opening] = Opening.objects.visible_to(person).filter(site=site)
    for word in typed.split()[:MOST_WORDS]:
        anywhere = Q()
        for field in WHERE:
            anywhere |= Q(**{f"{field}__icontains": word})
        openings = openings.filter(anywhere)
    rank = Case(
        When(number__istartswith=typed, then=Value(0)),
        When(number__icontains=typed, then=Value(1)),
        When(mark__iexact=typed, then=Value(2)),
        default=Value(3),
        output_field=IntegerField(),
    )
    ordered = with_alerts(openings).order_by(rank, "floor__building__code", "floor__level", "walk", "number")
    place = ("mark", "floor__code", "floor__name", "floor__building__code", "floor__building__name")
    rows = list(ordered.values(*COLUMNS, *place)[: MOST_FOUND + 1])
    shown = rows[:MOST_FOUND]
    hits = tuple(
        Hit(
            opening, row["mark"], row["floor__name"] or row["floor__code"],
            row["floor__building__name"] or row["floor__building__code"],
        )
        for row, opening in zip(shown, floor_openings(shown), strict=True)
    )  # fmt: skip
    return Found(hits, len(rows) > MOST_FOUND)
