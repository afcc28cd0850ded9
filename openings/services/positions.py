"""Where the openings of a floor stand on its plan: set, moved, taken off, and the last such act taken back."""

from collections.abc import Mapping
from datetime import datetime
from math import isfinite
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Floor, Opening, ScheduleChange, Site
from openings.selectors.facts import Difference
from openings.services.schedule_record import Change, record_changes, set_facts
from sitetrack.access.models import Person
from sitetrack.access.rights import Right, must
from sitetrack.kit.problems import BadInput, Conflict, FieldError, NotFound
from sitetrack.kit.undoing import must_be_ones_own_and_recent

Spot = tuple[float, float]  # metres along the plan, right and up
MOST_AT_ONCE = 2000
FARTHEST = 10_000_000.0  # metres: models may stand on a survey's own grid, and no grid of a country is wider
NO_SPOT: tuple[None, None] = (None, None)


@transaction.atomic
def set_positions(
    *, floor: Floor, spots: Mapping[Any, Spot | None], versions: Mapping[Any, int], who: Person, now: datetime
) -> list[Opening]:
    """Stand the openings of these ids at these spots, None taking one off the plan; gives those that changed.

    `versions` has what each opening was when it was read. Raises Forbidden, NotFound, BadInput, and Conflict where one
    was changed since; nothing is written then.
    """
    must(who, floor.site_id, Right.CHANGE_SCHEDULE)
    if not 0 < len(spots) <= MOST_AT_ONCE:
        raise BadInput(_("Choose from 1 to %(most)d openings.") % {"most": MOST_AT_ONCE})
    Site.objects.select_for_update().get(pk=floor.site_id)
    openings = list(Opening.objects.filter(floor=floor, pk__in=spots).order_by("walk", "number"))
    if len(openings) < len(spots):
        raise NotFound(_("One of these openings is not on this floor. Look at the floor again."))
    stale = [opening.number for opening in openings if opening.version != versions.get(opening.pk)]
    if stale:
        raise Conflict(
            _("Changed by someone since you read it: %(numbers)s. Look again and move what still stands wrong.")
            % {"numbers": ", ".join(stale[:10])}
        )
    return move_openings(floor=floor, spots={each: spots[each.pk] for each in openings}, who=who, now=now)


def move_openings(*, floor: Floor, spots: Mapping[Opening, Spot | None], who: Person, now: datetime) -> list[Opening]:
    """Record new positions of openings just read, in the transaction and under the lock of the service that asks."""
    changes = []
    for opening, spot in spots.items():
        _check(opening, spot)
        after = dict(zip(("x", "y"), spot or NO_SPOT, strict=True))
        differences = [
            Difference(axis, getattr(opening, axis), value)
            for axis, value in after.items()
            if getattr(opening, axis) != value
        ]
        if differences:
            set_facts(opening, differences)
            changes.append(Change(opening, ScheduleChange.Kind.CHANGED, differences))
    record_changes(site=floor.site, changes=changes, revision=None, who=who, now=now)
    return [change.opening for change in changes]


@transaction.atomic
def take_back_positions(*, floor: Floor, moved_at: datetime, who: Person, now: datetime) -> list[Opening]:
    """Put back where they stood the openings that this person moved at that moment. Raises Forbidden and Conflict."""
    must(who, floor.site_id, Right.CHANGE_SCHEDULE)
    Site.objects.select_for_update().get(pk=floor.site_id)
    moves = ScheduleChange.objects.filter(site=floor.site, opening__floor=floor, field__in=("x", "y"))
    rows = list(moves.filter(at=moved_at, by=who).select_related("opening")[: 2 * MOST_AT_ONCE])
    must_be_ones_own_and_recent(done_by=who, done_at=moved_at if rows else None, who=who, now=now)
    openings: dict[Any, Opening] = {}
    spots: dict[Any, dict[str, float | None]] = {}
    for row in rows:
        opening = openings.setdefault(row.opening_id, row.opening)
        if getattr(opening, row.field) != _metres(row.after):
            raise Conflict(_("Not undone: %(number)s has been moved again since.") % {"number": opening.number})
        spots.setdefault(opening.pk, {"x": opening.x, "y": opening.y})[row.field] = _metres(row.before)
    back = {openings[pk]: _spot(at["x"], at["y"]) for pk, at in spots.items()}
    return move_openings(floor=floor, spots=back, who=who, now=now)


def _metres(text: str) -> float | None:
    return float(text) if text else None


def _spot(x: float | None, y: float | None) -> Spot | None:
    return None if x is None or y is None else (x, y)


def _check(opening: Opening, spot: Spot | None) -> None:
    if spot is not None and not all(isfinite(metres) and abs(metres) <= FARTHEST for metres in spot):
        said = _("%(number)s can't stand there: that is off any plan.") % {"number": opening.number}
        raise BadInput(said, errors=[FieldError(f"x-{opening.pk}", said)])
