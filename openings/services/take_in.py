"""Taking a schedule in: the one transaction in which a file becomes the job's openings."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from openings.models import HeadingMap, Opening, ScheduleChange, ScheduleRevision, Site
from openings.selectors.comparison import Compared, Comparison, Listing, Outcome, Terms, state_of_schedule
from openings.selectors.facts import ListedOpening
from openings.services.places import Places, Walls
from openings.services.schedule_record import Change, record_changes, set_facts
from openings.services.walk import Spot, walking_order
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import Conflict

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Schedule:
    """A file read and settled: its openings, the numbers and keys it lists, and how it is to be taken.

    `openings` may be called again and again; `based_on` is the state of the site's schedule the preview was made from.
    """

    openings: Callable[[], Iterable[ListedOpening]]
    listing: Listing
    terms: Terms
    based_on: str
    file_name: str
    file_digest: str
    label: str = ""
    refused: int = 0
    headings_digest: str = ""
    settled: dict[str, Any] = field(default_factory=dict)


@transaction.atomic
def take_in(
    *, site: Site, schedule: Schedule, who: Person, now: datetime, progress: Progress | None = None
) -> ScheduleRevision:
    """Write what the preview showed, and the record of it; openings the file no longer lists are kept, marked so.

    Raises Forbidden for anyone but a supervisor, and Conflict where the openings changed since the preview.
    """
    check_may_change_schedule(site, who)
    # The lock makes the comparison below hold until commit: two takings-in of one site go one after the other.
    site = Site.objects.select_for_update().get(pk=site.pk)
    if state_of_schedule(site.pk) != schedule.based_on:
        raise Conflict(
            _(
                "The openings changed after this preview was made, so it may no longer be true. "
                "Nothing was taken in. Look at the preview again and then take it in."
            )
        )
    latest = ScheduleRevision.objects.filter(site=site).aggregate(n=Max("n"))["n"] or 0
    revision = ScheduleRevision.objects.create(
        site=site, n=latest + 1, label=schedule.label[:80], file_name=schedule.file_name[:200],
        file_digest=schedule.file_digest, taken_in_at=now, taken_in_by=who, refused=schedule.refused,
    )  # fmt: skip
    _TakingIn(site, revision, schedule, who, now).run(progress)
    if schedule.headings_digest:
        HeadingMap.objects.update_or_create(
            site=site, headings_digest=schedule.headings_digest,
            defaults={"mapping": schedule.settled, "changed_at": now},
        )  # fmt: skip
    counts = {outcome: ("", getattr(revision, outcome)) for outcome in ("added", "changed", "missing", "refused")}
    record_change(
        site=site, who=who, now=now, kind=Kind.SCHEDULE, act=Act.TAKEN_IN, about=revision,
        differences={"file": ("", revision.file_name)} | counts,
    )  # fmt: skip
    return revision


def check_may_change_schedule(site: Site, who: Person) -> None:
    """Raise Forbidden unless the person supervises the site."""
    must(who, site.pk, Right.CHANGE_SCHEDULE)


class _TakingIn:
    def __init__(self, site: Site, revision: ScheduleRevision, schedule: Schedule, who: Person, now: datetime) -> None:
        self._site, self._revision, self._schedule, self._who, self._now = site, revision, schedule, who, now
        self._places, self._walls = Places(site), Walls(site)
        self._last_walk: dict[Any, int] = {}
        self._new_spots: dict[Any, list[tuple[Any, Spot]]] = {}

    def run(self, progress: Progress | None) -> None:
        """Take every row in, chunk by chunk."""
        schedule, revision = self._schedule, self._revision
        comparison = Comparison(self._site.pk, schedule.listing, schedule.terms)
        _take_numbers_off(comparison.renumbering.moving)
        done, total = 0, len(schedule.listing.rows)
        for chunk in comparison.chunks(schedule.openings()):
            self._record([self._change(one) for one in chunk if one.outcome in (Outcome.ADDED, Outcome.CHANGED)])
            for one in chunk:
                count = one.outcome.value
                setattr(revision, count, getattr(revision, count) + 1)
            done += len(chunk)
            if progress:
                progress(done, total)
        for missing in comparison.no_longer_listed():
            for opening in missing:
                opening.in_schedule = False
            self._record([Change(opening, ScheduleChange.Kind.MISSING) for opening in missing])
            revision.missing += len(missing)
        self._walk_by_position()
        revision.save()

    def _change(self, compared: Compared) -> Change:
        opening = compared.current or Opening(site=self._site, extra={})
        set_facts(opening, compared.differences)
        listed, wall_before = compared.listed, opening.wall
        changed = {difference.field: difference for difference in compared.differences}
        if "floor" in changed:
            opening.floor = self._places.floor(changed["floor"].after, listed.building, listed.elevation)
        if "wall" in changed:
            told = listed.wall or self._schedule.terms.defaults.get("wall")
            opening.wall = self._walls.wall(told) if told else None
        if compared.outcome is Outcome.ADDED:
            opening.plan = self._walls.plan(opening.wall)
            self._put_at_end_of_walk(opening)
            return Change(opening, ScheduleChange.Kind.ADDED)
        self._walls.follow(opening, wall_before)
        opening.in_schedule = True
        kind = ScheduleChange.Kind.BACK if compared.is_back else ScheduleChange.Kind.CHANGED
        return Change(opening, kind, compared.differences)

    def _record(self, changes: list[Change]) -> None:
        record_changes(site=self._site, changes=changes, revision=self._revision, who=self._who, now=self._now)

    def _put_at_end_of_walk(self, opening: Opening) -> None:
        floor_id = opening.floor_id
        if floor_id not in self._last_walk:
            last = Opening.objects.filter(floor=floor_id).aggregate(last=Max("walk"))["last"]
            self._last_walk[floor_id] = last or 0
        self._last_walk[floor_id] += 1
        opening.walk = self._last_walk[floor_id]
        self._new_spots.setdefault(floor_id, []).append((opening.pk, (opening.x, opening.y)))

    def _walk_by_position(self) -> None:
        """Where the positions are known, walk the new openings of a floor from one to the nearest next."""
        for floor_id, spots in self._new_spots.items():
            order = walking_order([spot for _row, spot in spots])
            first = self._last_walk[floor_id] - len(spots) + 1
            moved = [(step, index) for step, index in enumerate(order) if step != index]
            Opening.objects.bulk_update(
                [Opening(pk=spots[index][0], walk=first + step) for step, index in moved], ["walk"], batch_size=300
            )


def _take_numbers_off(openings: Iterable[Any]) -> None:
    """Take the numbers off the openings to be renumbered, so that two that swap do not meet in the constraint."""
    for pk in openings:
        Opening.objects.filter(pk=pk).update(number=f"~{pk}")
