"""Taking back what one has just changed of the schedule by hand, exactly as it was."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Floor, Opening, ScheduleChange, Site, WallType
from openings.selectors.facts import LENGTH_FACTS, SIMPLE_FACTS, Difference
from openings.services.places import Walls
from openings.services.schedule_record import Change, record_changes, set_facts
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person
from sitetrack.kit.lengths import Length
from sitetrack.kit.problems import Conflict
from sitetrack.kit.undoing import must_be_ones_own_and_recent

Kind = ScheduleChange.Kind


@transaction.atomic
def take_back_edit(*, site: Site, made_at: datetime, who: Person, now: datetime) -> list[Opening]:
    """Undo what this person changed by hand at that moment, of one opening or of many; gives those it was done to.

    The undoing is on the record like any change. An opening that was added is taken off the schedule, where its
    number stays. Raises Forbidden, and Conflict where it is too late or one was changed since; nothing is written then.
    """
    check_may_change_schedule(site, who)
    site = Site.objects.select_for_update().get(pk=site.pk)
    rows = ScheduleChange.objects.filter(site=site, revision=None, by=who, at=made_at)
    of_opening: dict[Any, list[ScheduleChange]] = defaultdict(list)
    for row in rows.order_by("id"):
        of_opening[row.opening_id].append(row)
    must_be_ones_own_and_recent(done_by=who, done_at=made_at if of_opening else None, who=who, now=now)
    found = Opening.objects.filter(pk__in=of_opening).select_related("floor__building", "wall", "plan")
    openings = list(found.order_by("floor__level", "walk", "number"))
    changed = [opening.number for opening in openings if opening.changed_at != made_at]
    if changed:
        raise Conflict(_("Not undone: %(numbers)s changed again since.") % {"numbers": ", ".join(changed[:10])})
    back = _Back(site)
    changes = [back.change(opening, of_opening[opening.pk]) for opening in openings]
    record_changes(site=site, changes=changes, revision=None, who=who, now=now)
    return openings


class _Back:
    """Puts facts back from their record; floors and walls are looked up once."""

    def __init__(self, site: Site) -> None:
        self._walls = Walls(site)
        self._floor_rows = {str(floor.pk): floor for floor in Floor.objects.filter(site=site)}
        self._wall_rows = {str(wall.pk): wall for wall in WallType.objects.filter(site=site)}

    def change(self, opening: Opening, rows: Iterable[ScheduleChange]) -> Change:
        wall_before = opening.wall
        kind = Kind.CHANGED
        differences: list[Difference] = []
        for row in rows:
            if row.kind == Kind.CHANGED:
                differences += self._difference(opening, row)
            else:
                opening.in_schedule = row.kind == Kind.MISSING
                kind = Kind.BACK if opening.in_schedule else Kind.MISSING
        set_facts(opening, differences)
        self._walls.follow(opening, wall_before)
        return Change(opening, kind, differences)

    def _difference(self, opening: Opening, row: ScheduleChange) -> Iterator[Difference]:
        if row.field == "floor":
            now, opening.floor = opening.floor, self._floor_rows[str(row.was)]
            yield Difference("floor", str(now), str(opening.floor), was=str(now.pk))
        elif row.field == "wall":
            then, opening.wall = opening.wall, self._wall_rows.get(str(row.was))
            after = opening.wall.code if opening.wall else ""
            yield Difference("wall", then.code if then else "", after, was=str(then.pk) if then else "")
        elif row.field in SIMPLE_FACTS:
            was = Length(row.was) if row.field in LENGTH_FACTS and row.was is not None else row.was
            yield Difference(row.field, getattr(opening, row.field), was)
