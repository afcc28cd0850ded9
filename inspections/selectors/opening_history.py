"""What happened around one opening besides its check-ins: holds, and changes of what the schedule says of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from uuid import UUID

from inspections.models import Hold
from openings.models import Opening, ScheduleChange
from sitetrack.access.models import Person
from sitetrack.kit.language import readers_language

MOST_CHANGES = 100
MOST_HOLDS = 50


@dataclass(frozen=True, slots=True)
class HoldOfOpening:
    """A hold of this opening, open or released; `from_check`: reading the failed check again is its release."""

    id: UUID
    stage: str
    reason: str
    opened_at: datetime
    opened_by: str
    company: str
    released_at: datetime | None
    released_by: str
    released_why: str
    from_check: bool


@dataclass(frozen=True, slots=True)
class ScheduleFact:
    """One field of the opening changed, before and after; without a field, what became of its being listed."""

    kind: str
    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class ScheduleStep:
    """What one revision, or one person by hand, changed of the opening at one time. `n` is 0 by hand."""

    at: datetime
    by: str
    n: int
    revision: str
    facts: tuple[ScheduleFact, ...]


def holds_of(opening: Opening, person: Person) -> tuple[HoldOfOpening, ...]:
    """Holds, latest first. One query."""
    holds = Hold.objects.visible_to(person).filter(opening=opening)
    return tuple(
        HoldOfOpening(
            id=hold.pk,
            stage=hold.stage,
            reason=hold.reason_in(readers_language()),
            opened_at=hold.opened_at,
            opened_by=str(hold.opened_by),
            company=str(hold.company),
            released_at=hold.released_at,
            released_by=str(hold.released_by or ""),
            released_why=hold.released_why,
            from_check=hold.from_check,
        )
        for hold in holds.select_related("opened_by", "company", "released_by").order_by("-opened_at")[:MOST_HOLDS]
    )


def schedule_steps(opening: Opening, person: Person) -> tuple[ScheduleStep, ...]:
    """What revisions and people changed of the opening, latest first, as far as the bound. One query."""
    changes = ScheduleChange.objects.visible_to(person).filter(opening=opening).select_related("by", "revision")
    return tuple(_steps(list(changes.order_by("-id")[:MOST_CHANGES])))


def _steps(changes: list[ScheduleChange]) -> Iterator[ScheduleStep]:
    for (_revision, at), rows in groupby(changes, key=lambda change: (change.revision_id, change.at)):
        told = list(rows)
        revision = told[0].revision
        yield ScheduleStep(
            at=at,
            by=str(told[0].by),
            n=revision.n if revision else 0,
            revision=revision.label if revision else "",
            facts=tuple(ScheduleFact(row.kind, row.field, row.before, row.after) for row in reversed(told)),
        )
