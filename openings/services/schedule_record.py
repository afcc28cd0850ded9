"""The one place that writes the facts of openings, together with the record of what changed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from openings.models import Opening, ScheduleChange, ScheduleRevision, Site
from openings.selectors.facts import SIMPLE_FACTS, Difference, is_unknown, shown
from openings.services.changes import mark_dirty, next_numbers
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.trail import record_change
from sitetrack.kit.lengths import Length

LONGEST_SHOWN = 4000
PLAIN = (str, int, float, type(None))
WRITTEN = (
    *SIMPLE_FACTS, "floor", "wall", "plan", "extra", "walk", "in_schedule", "version", "changed_at", "seq",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """An opening with its facts already set, and what that changed."""

    opening: Opening
    kind: ScheduleChange.Kind
    differences: Sequence[Difference] = ()


def set_facts(opening: Opening, differences: Iterable[Difference]) -> None:
    """Put the simple facts and the kept columns of the differences on the opening; floor and wall are looked up."""
    for difference in differences:
        if difference.field in SIMPLE_FACTS:
            empty = "" if isinstance(getattr(opening, difference.field), str) else None
            setattr(opening, difference.field, empty if is_unknown(difference.after) else difference.after)
        elif difference.field.startswith("extra:"):
            opening.extra = {**opening.extra, difference.field.removeprefix("extra:"): difference.after}


def record_changes(
    *, site: Site, changes: Sequence[Change], revision: ScheduleRevision | None, who: Person, now: datetime
) -> None:
    """Store the openings and one row of record for each fact, number them for the phones, and mark them as work owed.

    Called in the transaction of the service that decided on the changes.
    """
    if not changes:
        return
    for change, number in zip(changes, next_numbers(site.pk, len(changes)), strict=True):
        opening = change.opening
        opening.seq, opening.changed_at = number, now
        opening.version += 0 if change.kind is ScheduleChange.Kind.ADDED else 1
    added = [change.opening for change in changes if change.kind is ScheduleChange.Kind.ADDED]
    others = [change.opening for change in changes if change.kind is not ScheduleChange.Kind.ADDED]
    Opening.objects.bulk_create(added)
    # An upsert on the primary key is one statement for many rows, where bulk_update grows with rows times columns.
    Opening.objects.bulk_create(others, update_conflicts=True, unique_fields=["id"], update_fields=WRITTEN)
    ScheduleChange.objects.bulk_create(row for change in changes for row in _rows(site, change, revision, who, now))
    mark_dirty(site.pk, [change.opening.pk for change in changes], now)
    if revision is None:
        _tell_trail(site, changes, who, now)


ACTS = {
    ScheduleChange.Kind.ADDED: Act.ADDED,
    ScheduleChange.Kind.CHANGED: Act.CHANGED,
    ScheduleChange.Kind.MISSING: Act.REMOVED,
    ScheduleChange.Kind.BACK: Act.RESTORED,
}


def _tell_trail(site: Site, changes: Sequence[Change], who: Person, now: datetime) -> None:
    """One act by hand is one row of the audit trail; fact by fact it stands in the record of the openings.

    What a revision brings is told once, by whoever takes it in.
    """
    first = changes[0]
    if len(changes) == 1:
        about: Opening | str = first.opening
        units = site.unit_system
        differences = {
            each.field: (shown(each.field, each.before, units), shown(each.field, each.after, units))
            for each in first.differences
        }
    else:
        about = f"{len(changes)} openings"
        fields = sorted({each.field for change in changes for each in change.differences})
        differences = {"openings": ("", ", ".join(change.opening.number for change in changes))}
        if fields:
            differences["facts"] = ("", ", ".join(fields))
    record_change(
        site=site, who=who, now=now, kind=Kind.OPENING, act=ACTS[first.kind], about=about, differences=differences
    )


def _rows(
    site: Site, change: Change, revision: ScheduleRevision | None, who: Person, now: datetime
) -> Iterable[ScheduleChange]:
    units = site.unit_system

    def row(
        kind: ScheduleChange.Kind, field: str = "", before: str = "", after: str = "", was: Any = None
    ) -> ScheduleChange:
        return ScheduleChange(
            site=site, revision=revision, opening=change.opening, at=now, by=who, kind=kind, field=field[:40],
            before=before[:LONGEST_SHOWN], after=after[:LONGEST_SHOWN], was=was,
        )  # fmt: skip

    if change.kind is not ScheduleChange.Kind.CHANGED:
        yield row(change.kind)
    # What an added opening says is the schedule itself; only later changes are told fact by fact.
    if change.kind is not ScheduleChange.Kind.ADDED:
        for difference in change.differences:
            yield row(
                ScheduleChange.Kind.CHANGED, difference.field, shown(difference.field, difference.before, units),
                shown(difference.field, difference.after, units), None if revision else _was(difference),
            )  # fmt: skip


def _was(difference: Difference) -> Any:
    """The value before, as a data base keeps it; lengths in nanometres."""
    before = difference.before if difference.was is None else difference.was
    return before.nm if isinstance(before, Length) else before if isinstance(before, PLAIN) else str(before)
