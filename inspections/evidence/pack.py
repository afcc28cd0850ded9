"""What an evidence pack holds: every check of the openings asked for, as read, judged, signed and sealed.

A person finds in it what they may see and no more: a crew, its own company's checks.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from inspections.evidence.verifying import Anchor, anchor_of
from inspections.models import CheckIn, FrameCheck, Photo, SealedEntry
from inspections.models.checkins import Action
from inspections.selectors.frame_changes import frames_changed_at
from openings.models import Floor, Opening, Site, WallType
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput, FieldError, NotFound

MOST_OPENINGS = 300
MOST_CHECKS = 2000
CHUNK = 500


@dataclass(frozen=True, slots=True)
class Asked:
    """What a pack is asked to cover; parts not given do not narrow it. `first` counts, `after` does not."""

    number: str = ""
    floor_id: UUID | None = None
    wall: str = ""
    first: datetime | None = None
    after: datetime | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A signature on a check or a taking back of it: who, in which role, when, why."""

    person: str
    company: str
    role: str
    at: datetime
    reason: str
    entry: SealedEntry | None


@dataclass(frozen=True, slots=True)
class PackCheck:
    """One check. `entry` is its place in the sealed record; `photos` are digests, `come` those that have arrived."""

    check_in: CheckIn
    frame_check: FrameCheck
    entry: SealedEntry | None
    signatures: tuple[Mark, ...]
    taken_back: tuple[Mark, ...]
    come: frozenset[str]


@dataclass(frozen=True, slots=True)
class PackOpening:
    """An opening with its checks, the earliest first; and when the schedule last made its frame another one."""

    opening: Opening
    checks: tuple[PackCheck, ...]
    changed_at: datetime | None


@dataclass(frozen=True, slots=True)
class Pack:
    """A whole pack. `subjects` are the check-ins whose sealed content it shows; `end` is where the chain stood."""

    site: Site
    asked: Asked
    openings: tuple[PackOpening, ...]
    subjects: frozenset[UUID]
    end: Anchor


def gather_pack(site: Site, person: Person, asked: Asked) -> Pack:
    """Gather the pack of what was asked, in walking order, in a fixed number of queries.

    Raises `NotFound` where nothing of that name is on the site, `BadInput` where it is more than one document holds.
    """
    openings = _openings(site, person, asked)
    checks = FrameCheck.objects.visible_to(person).filter(opening__in=openings, site=site)
    if asked.first:
        checks = checks.filter(read_at__gte=asked.first)
    if asked.after:
        checks = checks.filter(read_at__lt=asked.after)
    rows = list(
        checks.select_related(
            "check_in__person", "check_in__company", "check_in__device", "opening__floor__building", "opening__wall",
            "opening__plan", "profile",
        ).order_by("read_at", "pk")[: MOST_CHECKS + 1]
    )  # fmt: skip
    if len(rows) > MOST_CHECKS:
        raise _too_much("checks", MOST_CHECKS)
    ids = [row.pk for row in rows]
    about = _about(ids)
    subjects = {*ids, *(check_in.pk for found in about.values() for check_in in found)}
    entries = _entries(site, subjects)
    come = _come(rows)
    by_opening: dict[UUID, list[PackCheck]] = defaultdict(list)
    for row in rows:
        by_opening[row.opening_id].append(_check(row, about.get(row.pk, ()), entries, come))
    named_alone = asked.number and not by_opening
    shown = _walked(openings, by_opening, all_of_them=bool(named_alone))
    changed = frames_changed_at([o.pk for o in shown])
    return Pack(
        site=site,
        asked=asked,
        openings=tuple(PackOpening(o, tuple(by_opening[o.pk]), changed.get(o.pk)) for o in shown),
        subjects=frozenset(subjects),
        end=anchor_of(site),
    )


def _openings(site: Site, person: Person, asked: Asked) -> QuerySet[Any]:
    """The openings asked for; whether they were named rightly is settled here."""
    openings = Opening.objects.visible_to(person).filter(site=site)
    if asked.number:
        openings = openings.filter(number__iexact=asked.number)
        if not openings.exists():
            raise NotFound(f"There is no opening {asked.number} on this site.")
    if asked.floor_id:
        if not Floor.objects.filter(site=site, pk=asked.floor_id).exists():
            raise NotFound("There is no such floor on this site.")
        openings = openings.filter(floor=asked.floor_id)
    if asked.wall:
        if not WallType.objects.filter(site=site, code__iexact=asked.wall).exists():
            raise NotFound(f"There is no wall {asked.wall} on this site.")
        openings = openings.filter(wall__code__iexact=asked.wall)
    return openings


def _walked(openings: QuerySet[Any], checked: Mapping[UUID, Any], *, all_of_them: bool) -> Sequence[Opening]:
    wanted = openings if all_of_them else openings.filter(pk__in=list(checked))
    found = wanted.select_related("floor__building", "wall", "plan").order_by(
        "floor__building__code", "floor__level", "floor__code", "walk", "number"
    )[: MOST_OPENINGS + 1]
    if len(found) > MOST_OPENINGS:
        raise _too_much("openings", MOST_OPENINGS)
    return list(found)


def _about(ids: Sequence[UUID]) -> dict[UUID, list[CheckIn]]:
    """Signatures and takings back of these checks, in order. Whoever may see a check may see what was said of it."""
    said: dict[UUID, list[CheckIn]] = defaultdict(list)
    for start in range(0, len(ids), CHUNK):
        rows = CheckIn.objects.filter(about__in=ids[start : start + CHUNK], action__in=[Action.SIGN, Action.VOID])
        for row in rows.select_related("person", "company").order_by("corrected_at", "pk"):
            said[row.about].append(row)
    return said


def _entries(site: Site, subjects: set[UUID]) -> dict[UUID, SealedEntry]:
    found: dict[UUID, SealedEntry] = {}
    ordered = sorted(subjects)
    for start in range(0, len(ordered), CHUNK):
        for entry in SealedEntry.objects.filter(site=site, subject__in=ordered[start : start + CHUNK]):
            found[entry.subject] = entry
    return found


def _come(rows: Sequence[FrameCheck]) -> frozenset[str]:
    named = sorted({digest for row in rows for digest in row.check_in.photos})
    come: set[str] = set()
    for start in range(0, len(named), CHUNK):
        come.update(Photo.objects.filter(pk__in=named[start : start + CHUNK]).values_list("pk", flat=True))
    return frozenset(come)


def _check(
    row: FrameCheck, said: Sequence[CheckIn], entries: Mapping[UUID, SealedEntry], come: frozenset[str]
) -> PackCheck:
    def marks(action: str) -> tuple[Mark, ...]:
        return tuple(
            Mark(str(c.person), str(c.company), c.role, c.corrected_at, c.note, entries.get(c.pk))
            for c in said
            if c.action == action
        )

    return PackCheck(
        check_in=row.check_in,
        frame_check=row,
        entry=entries.get(row.pk),
        signatures=marks(Action.SIGN),
        taken_back=marks(Action.VOID),
        come=come & frozenset(row.check_in.photos),
    )


def _too_much(what: str, most: int) -> BadInput:
    return BadInput(
        f"This holds more than {most} {what}. Ask for one floor, one wall or fewer days.",
        errors=[FieldError("from", f"more than {most} {what}", expected="fewer days", example="2026-03-02")],
    )
