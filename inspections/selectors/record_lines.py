"""The record of one opening: every check-in as it is told, and what was sent from it and kept aside."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections.models import CheckIn, KeptAside, Photo
from inspections.models.checkins import Action
from openings.models import Opening
from sitetrack.access.models import Person

MOST_CHECK_INS = 400
MOST_ASIDE = 50
LATE_MS = 12 * 3600 * 1000  # told apart as late: it reached us half a day or more after it happened


@dataclass(frozen=True, slots=True)
class NamedPhoto:
    """A photo that a check-in names; until it has `arrived` the check-in stands without it. Sizes as kept."""

    digest: str
    arrived: bool
    width: int = 0
    height: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    """That an item was kept aside first, and who said where it belongs."""

    by: str
    at: datetime | None


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One check-in as it is told in the record.

    `taken_back_by` names the check-in that took it back. `conflict` is the fold's code for one that counts for
    nothing. `judged` is what the server made of a reading; `late` says that it arrived half a day or more afterwards;
    `placed` that it was kept aside until a supervisor placed it.
    """

    id: UUID
    stage: str
    action: str
    person_id: UUID
    person: str
    company: str
    role: str
    device: str
    happened_at: datetime
    received_at: datetime
    uncertainty_ms: int
    about: UUID | None
    readings: Mapping[str, str]
    answers: Mapping[str, bool]
    note: str
    photos: tuple[NamedPhoto, ...]
    verdict: str
    judged: Mapping[str, Any]
    clock_flag: str
    late: bool
    taken_back_by: str
    conflict: str
    placed: Placed | None

    @property
    def can_be_taken_back(self) -> bool:
        """Whether it still stands and is not itself a taking back."""
        return not self.taken_back_by and self.action != Action.VOID

    @property
    def can_be_corrected(self) -> bool:
        """Whether it can be said anew in one go with taking it back; signatures and holds are given anew instead."""
        return self.can_be_taken_back and self.action in {Action.START, Action.FINISH, Action.FAIL, Action.NOTE}


@dataclass(frozen=True, slots=True)
class AsideLine:
    """An item that names this opening and was kept aside: it counts for nothing until it is placed."""

    id: UUID
    stage: str
    action: str
    note: str
    person: str
    company: str
    happened_at: datetime
    received_at: datetime
    reason: str
    discarded_by: str
    discarded_why: str


def record_of(opening: Opening, person: Person, state: Mapping[str, Any]) -> tuple[tuple[RecordLine, ...], int]:
    """The check-ins that the person may see, latest first, and how many more the bound left out. Three queries."""
    check_ins = CheckIn.objects.visible_to(person).filter(opening=opening)
    rows = list(
        check_ins.select_related("person", "company", "device", "frame_check").order_by("-corrected_at", "-id")[
            : MOST_CHECK_INS + 1
        ]
    )
    more = 0
    if len(rows) > MOST_CHECK_INS:
        rows.pop()
        more = check_ins.count() - MOST_CHECK_INS
    taken_back = state.get("taken_back", {})
    conflicts = {conflict["fact"]: conflict["code"] for conflict in state.get("conflicts", ())}
    come, placed = _photos_come(rows), _placed(rows)
    return tuple(_line(row, taken_back, conflicts, come, placed) for row in rows), more


def aside_lines(opening: Opening, person: Person) -> tuple[AsideLine, ...]:
    """What names the opening and waits to be placed, or was discarded; latest first. One query."""
    items = KeptAside.objects.visible_to(person).filter(
        ~Q(settled=KeptAside.Settled.PLACED), site=opening.site_id, payload__opening__iexact=opening.number
    )
    items = items.select_related("person", "company", "settled_by").order_by("-corrected_at", "-id")
    return tuple(_aside(item) for item in items[:MOST_ASIDE])


def _photos_come(rows: Iterable[CheckIn]) -> dict[str, NamedPhoto]:
    """Photos that have come, by digest."""
    digests = {digest for row in rows for digest in row.photos}
    found = Photo.objects.filter(pk__in=digests).values_list("digest", "width", "height")
    return {digest: NamedPhoto(digest, True, width, height) for digest, width, height in found}


def _placed(rows: Iterable[CheckIn]) -> dict[UUID, Placed]:
    """Which of the check-ins were kept aside before. What is placed keeps the id it was sent with."""
    items = KeptAside.objects.filter(pk__in=[row.pk for row in rows], settled=KeptAside.Settled.PLACED)
    return {item.pk: Placed(str(item.settled_by), item.settled_at) for item in items.select_related("settled_by")}


def _line(
    row: CheckIn,
    taken_back: Mapping[str, str],
    conflicts: Mapping[str, str],
    come: Mapping[str, NamedPhoto],
    placed: Mapping[UUID, Placed],
) -> RecordLine:
    frame_check = getattr(row, "frame_check", None)
    return RecordLine(
        id=row.pk,
        stage=row.stage,
        action=row.action,
        person_id=row.person_id,
        person=str(row.person),
        company=str(row.company),
        role=row.role,
        device=str(row.device) if row.device else "",
        happened_at=row.corrected_at,
        received_at=row.received_at,
        uncertainty_ms=row.uncertainty_ms,
        about=row.about,
        readings=row.readings,
        answers=row.answers,
        note=row.note,
        photos=tuple(come.get(digest, NamedPhoto(digest, False)) for digest in row.photos),
        verdict=row.verdict,
        judged=frame_check.judged if frame_check else {},
        clock_flag=row.clock_flag,
        late=(row.received_at - row.corrected_at).total_seconds() * 1000 >= LATE_MS,
        taken_back_by=taken_back.get(str(row.pk), ""),
        conflict=conflicts.get(str(row.pk), ""),
        placed=placed.get(row.pk),
    )


def _aside(item: KeptAside) -> AsideLine:
    def sent(member: str, most: int) -> str:
        value = item.payload.get(member)
        return value[:most] if isinstance(value, str) else ""

    return AsideLine(
        id=item.pk,
        stage=sent("stage", 40),
        action=sent("action", 20),
        note=sent("note", 400),
        person=str(item.person),
        company=str(item.company),
        happened_at=item.corrected_at,
        received_at=item.received_at,
        reason=item.reason,
        discarded_by=str(item.settled_by or ""),
        discarded_why=item.settled_why,
    )
