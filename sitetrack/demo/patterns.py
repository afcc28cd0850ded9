"""Pattern buildings: worked by the demo's crews through the real services, read, and left nowhere.

Each is loaded as the demo is, every check-in through the same door as a phone's, in a transaction that is rolled back
once its rows have been read.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain
from random import Random
from typing import Any
from uuid import UUID

from django.db import models, transaction

from inspections.models import (
    Alert,
    CheckIn,
    FrameCheck,
    Hold,
    KeptAside,
    Progress,
    SealedEntry,
    StageStanding,
    ToleranceProfile,
)
from openings.models import (
    Building,
    Floor,
    HeadingMap,
    Opening,
    ScheduleChange,
    ScheduleRevision,
    SequencePlan,
    Site,
    WallType,
)
from sitetrack.access.models import Device, Membership, RecordedChange
from sitetrack.demo.copying import Ids, Kept, keep
from sitetrack.demo.layout import FEWEST
from sitetrack.demo.load import Say, load
from sitetrack.kit.clock import to_ms

MORE_EACH = 24  # openings of each further pattern
MOST_PATTERNS = 12
# Weeks of the five that the pattern's crews have still before them.
AHEAD = (0, 2, 1, 3)
# What belongs to the site, by what makes it the same on the site of another pattern.
OF_SITE: tuple[tuple[type[models.Model], tuple[str, ...]], ...] = (
    (SequencePlan, ("code", "version")),
    (WallType, ("code",)),
    (ToleranceProfile, ("version",)),
    (Membership, ("person_id",)),
    (Device, ("name",)),
)
# What belongs to one opening, by the column that names it.
OF_OPENING: tuple[tuple[type[models.Model], str], ...] = (
    (Opening, "id"),
    (Progress, "opening_id"),
    (StageStanding, "opening_id"),
    (CheckIn, "opening_id"),
    (FrameCheck, "opening_id"),
    (Hold, "opening_id"),
)


@dataclass(frozen=True, slots=True)
class Of:
    """A kept row and the place of its opening in the walk; `n` is the key that the data base counted, if it did."""

    row: Kept
    place: int
    n: int = 0


@dataclass(frozen=True, slots=True)
class Seal:
    """A kept link of the sealed record, when it was made, and what it seals."""

    row: Kept
    place: int
    n: int
    at: int
    check_in: Kept
    check: Kept | None


@dataclass(frozen=True, slots=True)
class Pattern:
    """One building's rows, its site's, and what the copies need to know of them.

    `numbered` are the moment, the site's number and the opening's place of all that has a number, in that order.
    """

    size: int
    until: datetime
    site: Kept
    of_site: dict[type[models.Model], dict[tuple[Any, ...], tuple[UUID, Kept]]]
    trail_of_site: tuple[Kept, ...]
    headings: tuple[Kept, ...]
    buildings: tuple[Kept, ...]
    floors: tuple[Kept, ...]
    revisions: tuple[Kept, ...]
    of_opening: dict[type[models.Model], tuple[Of, ...]]
    seals: tuple[Seal, ...]
    kept_aside: tuple[Kept, ...]
    numbered: tuple[tuple[int, int, int], ...]
    ids: Ids


def worked_patterns(count: int, *, now: datetime, seed: int, code: str, say: Say) -> Iterator[Pattern]:
    """So many pattern buildings, no two of the same seed or size, as they stand at `now`."""
    for n in range(count):
        size, ahead = FEWEST + MORE_EACH * n, timedelta(weeks=AHEAD[n % len(AHEAD)])
        say(f"Pattern {n + 1} of {count}: the crews work through {size} openings ...")
        with transaction.atomic():
            site = load(now=now, seed=Random(f"{seed}/{n}").getrandbits(48), openings=size, code=code, ahead=ahead)
            pattern = read_pattern(site, now)
            transaction.set_rollback(True)
        yield pattern


def read_pattern(site: Site, until: datetime) -> Pattern:
    """Everything stored about a site of one building."""
    reading = _Reading(site)
    of_opening = {model: tuple(reading.of_openings(model, name)) for model, name in OF_OPENING}
    of_opening |= {
        Alert: tuple(reading.alerts()),
        ScheduleChange: tuple(reading.changes()),
        RecordedChange: tuple(reading.answered()),
    }
    return Pattern(
        size=len(reading.places),
        until=until,
        site=keep(site, reading.known),
        of_site={model: dict(reading.of_site(model, key)) for model, key in OF_SITE},
        trail_of_site=tuple(reading.trail(Device)),
        headings=reading.kept(HeadingMap),
        buildings=reading.kept(Building),
        floors=reading.kept(Floor),
        revisions=reading.kept(ScheduleRevision),
        of_opening=of_opening,
        seals=tuple(reading.seals()),
        kept_aside=reading.kept(KeptAside),
        numbered=tuple(reading.numbered()),
        ids=Ids(reading.known),
    )


class _Reading:
    """The rows of one site, and the places of its openings in the walk."""

    def __init__(self, site: Site) -> None:
        self._site = site
        walked = Opening.objects.filter(site=site).order_by("floor__level", "walk", "number")
        self.places: dict[UUID, int] = {pk: place for place, pk in enumerate(walked.values_list("pk", flat=True))}
        own: tuple[type[models.Model], ...] = (
            Building, Floor, ScheduleRevision, CheckIn, Alert, KeptAside, RecordedChange,
        )  # fmt: skip
        ids = (self._rows(model).values_list("pk", flat=True) for model in (*(model for model, _ in OF_SITE), *own))
        self.known: set[UUID] = {site.pk, *self.places, *chain.from_iterable(ids)}

    def _rows(self, model: type[models.Model]) -> models.QuerySet[Any]:
        return model._default_manager.filter(site=self._site).order_by("pk")  # noqa: SLF001 - Django's documented way

    def kept(self, model: type[models.Model]) -> tuple[Kept, ...]:
        return tuple(keep(row, self.known) for row in self._rows(model))

    def of_site(
        self, model: type[models.Model], key: Sequence[str]
    ) -> Iterator[tuple[tuple[Any, ...], tuple[UUID, Kept]]]:
        for row in self._rows(model):
            yield tuple(getattr(row, name) for name in key), (row.pk, keep(row, self.known))

    def of_openings(self, model: type[models.Model], name: str) -> Iterator[Of]:
        for row in self._rows(model):
            yield Of(keep(row, self.known), self.places[getattr(row, name)])

    def alerts(self) -> Iterator[Of]:
        """Alerts of openings; the site's own is raised on the copy. Nobody is mailed of what is long past."""
        for alert in self._rows(Alert).exclude(opening=None):
            alert.sent_at = alert.sent_at or alert.opened_at
            yield Of(keep(alert, self.known), self.places[alert.opening_id])

    def changes(self) -> Iterator[Of]:
        for change in self._rows(ScheduleChange):
            yield Of(keep(change, self.known), self.places[change.opening_id], change.pk)

    def seals(self) -> Iterator[Seal]:
        check_ins = {row.pk: row for row in self._rows(CheckIn)}
        checks = {row.pk: keep(row, self.known) for row in self._rows(FrameCheck)}
        for row in self._rows(SealedEntry):
            check_in = check_ins[row.subject]
            yield Seal(
                row=keep(row, self.known),
                place=self.places[check_in.opening_id],
                n=row.n,
                at=to_ms(row.sealed_at),
                check_in=keep(check_in, self.known),
                check=checks.get(row.subject),
            )

    def trail(self, model: type[models.Model]) -> Iterator[Kept]:
        """What is recorded about rows of this model."""
        about = {str(pk) for pk in self._rows(model).values_list("pk", flat=True)}
        return (keep(row, self.known) for row in self._rows(RecordedChange) if row.about_id in about)

    def answered(self) -> Iterator[Of]:
        """What is recorded about alerts, and with the first opening what is about the schedule."""
        openings = {str(alert.pk): alert.opening_id for alert in self._rows(Alert).exclude(opening=None)}
        revisions = {str(pk) for pk in self._rows(ScheduleRevision).values_list("pk", flat=True)}
        for row in self._rows(RecordedChange):
            if row.about_id in openings or row.about_id in revisions:
                opening = openings.get(row.about_id)
                yield Of(keep(row, self.known), self.places[opening] if opening else 0)

    def numbered(self) -> Iterator[tuple[int, int, int]]:
        """An alert tells no moment of its last change, so it has that of the number before its own."""
        moments: dict[int, tuple[int, int]] = {}
        for seq, at, key in self._rows(Opening).values_list("seq", "changed_at", "pk"):
            moments[seq] = (to_ms(at), self.places[key])
        for seq, at, key in self._rows(CheckIn).values_list("seq", "received_at", "opening"):
            moments[seq] = (to_ms(at), self.places[key])
        for seq, at, key in self._rows(Progress).values_list("seq", "worked_out_at", "opening"):
            moments[seq] = (to_ms(at), self.places[key])
        for seq, at in self._rows(KeptAside).values_list("seq", "received_at"):
            moments[seq] = (to_ms(at), len(self.places) - 1)
        for seq, key in self._rows(Alert).exclude(opening=None).values_list("seq", "opening"):
            moments[seq] = (0, self.places[key])
        latest = 0
        for seq in sorted(moments):
            latest = max(latest, moments[seq][0])
            yield latest, seq, moments[seq][1]
