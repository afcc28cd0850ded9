"""A site of any size in the middle of its work: for what reads a site.

A few openings are taken in, reported on and worked out by the services that do so. The others are copies of their
rows, since only the reading is measured. A copy has check-ins, checks, standings and alerts of its own; the facts that
its stored state names are still those of the opening it was copied from.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from random import Random
from typing import Any

from django.db import transaction
from django.db.models import Model

from inspections.models import Alert, CheckIn, FrameCheck, Progress, StageStanding
from inspections.services.check_ins import record_check_ins
from inspections.services.reports import Report, Sender
from inspections.services.work_out import sweep
from openings.models import Building, Floor, Opening, Site
from openings.services.changes import next_numbers
from openings.services.sites import open_site
from sitetrack.access.models import Company, Person
from sitetrack.access.scope import membership_of
from sitetrack.demo.bench.phones import FRAME, RIGHT
from sitetrack.demo.data_base import take_stock
from sitetrack.demo.measuring import read, set_frame
from sitetrack.demo.taking_in import take_csv_in
from sitetrack.kit.bulk import insert_rows
from sitetrack.kit.clock import now
from sitetrack.kit.ids import new_id

PATTERN = 20  # openings that the services work out, at most all of them
ON_A_FLOOR, FLOORS = 200, 25  # openings of a floor, floors of a building, at most
# One opening in ten stands before each of these and one behind the last, so that several trades find something to do.
WORK = ("receive", "match", "ffl", "layout", "set", "roughin", "stud", "anchor", "trueness")
BEGAN, BETWEEN = timedelta(days=6), timedelta(hours=12)
AT_ONCE = 1000  # openings copied in one transaction


@dataclass(frozen=True, slots=True)
class WorkedSite:
    """A site, its supervisor, and an opening whose trueness was read."""

    site: Site
    boss: Person
    read: str


def worked_site(openings: int, code: str = "bench") -> WorkedSite:
    """A site of so many openings, reported on over the last days; but for ids and times the same every time."""
    at = now() - BEGAN
    boss = Person.objects.create_user(f"{code}@example.com", name="Bench")
    firm = Company.objects.create(name=f"Bench {code}")
    site = open_site(code=code, name="Bench", supervisor=boss, company=firm, now=at)
    numbers = [str(10_000 + n) for n in range(min(openings, PATTERN))]
    text = "\r\n".join(["Number,Building,Floor,Width,Height,Hand", *(f"{n},A,1,3'-0\",7'-0\",RH" for n in numbers)])
    take_csv_in(site=site, text=text, file_name="bench.csv", label="", who=boss, now=at)
    membership = membership_of(boss, site.pk)
    if membership is None:
        raise RuntimeError("the bench's supervisor has no role on the bench's site")
    rng = Random(openings)
    for place, stage in enumerate(WORK):
        there = [number for n, number in enumerate(numbers) if n % (len(WORK) + 1) > place]
        _report(site, Sender(boss, membership), there, stage, at + BETWEEN * (place + 1), rng)
    sweep(now=now())
    _grow(site, openings)
    return WorkedSite(Site.objects.get(pk=site.pk), boss, numbers[min(openings, len(WORK) + 1) - 1])


def _report(site: Site, sender: Sender, numbers: Sequence[str], stage: str, at: datetime, rng: Random) -> None:
    is_reading = stage == "trueness"
    reports = [
        Report(
            id=new_id(),
            opening=number,
            stage=stage,
            action="finish",
            happened_at=at,
            digest="",
            raw={},
            readings=read(set_frame(rng), FRAME, rng) if is_reading else {},
            answers=RIGHT if is_reading else {},
        )
        for number in numbers
    ]
    results = record_check_ins(site=site, sender=sender, reports=reports, device_time=None, now=at)
    if {result.outcome for result in results} - {"stored"}:
        raise RuntimeError("the bench's check-ins were not stored")


def _grow(site: Site, openings: int) -> None:
    """Copies of the openings there are, in turn, until the site has so many."""
    patterns = [_Pattern(opening) for opening in Opening.objects.filter(site=site).order_by("number")]
    floors = list(_floors(site, openings))
    starts = [*range(len(patterns), openings, AT_ONCE), openings]
    for start, end in pairwise(starts):
        with transaction.atomic():
            numbers = iter(next_numbers(site.pk, (end - start) * (2 + len(WORK))))
            copies = [patterns[n % len(patterns)].copy(n, floors[n // ON_A_FLOOR], numbers) for n in range(start, end)]
            for kind in zip(*copies, strict=True):
                insert_rows(row for rows in kind for row in rows)
    take_stock()


def _floors(site: Site, openings: int) -> Iterator[Floor]:
    yield Floor.objects.get(site=site)
    building = Building.objects.get(site=site)
    for n in range(1, -(-openings // ON_A_FLOOR)):
        if n % FLOORS == 0:
            building = Building.objects.create(site=site, code=f"B{n // FLOORS}")
        yield Floor.objects.create(site=site, building=building, code=str(n % FLOORS + 1), level=n % FLOORS + 1)


class _Pattern:
    """One opening and its rows, as they are stored."""

    def __init__(self, opening: Opening) -> None:
        self.opening = opening
        self.progress = Progress.objects.get(opening=opening)
        self.standings = list(StageStanding.objects.filter(opening=opening))
        self.check_ins = list(CheckIn.objects.filter(opening=opening))
        self.checks = {check.pk: check for check in FrameCheck.objects.filter(opening=opening)}
        self.alerts = list(Alert.objects.filter(opening=opening))

    def copy(self, n: int, floor: Floor, numbers: Iterator[int]) -> tuple[list[Model], ...]:
        """The same as opening number n of a floor, table by table in the order they must be stored."""
        key = new_id()
        there = {"opening_id": key, "floor_id": floor.pk}
        told = {"pk": key, "number": str(10_000 + n), "floor_id": floor.pk, "seq": next(numbers)}
        rows: tuple[list[Model], ...] = ([_like(self.opening, **told)], [], [], [], [], [])
        rows[1].append(_like(self.progress, **there, seq=next(numbers)))
        rows[2].extend(_like(standing, **there, pk=None) for standing in self.standings)
        for check_in in self.check_ins:
            fact = new_id()
            rows[3].append(_like(check_in, pk=fact, opening_id=key, seq=next(numbers)))
            if check := self.checks.get(check_in.pk):
                rows[4].append(_like(check, check_in_id=fact, opening_id=key))
        rows[5].extend(_like(alert, pk=new_id(), opening_id=key) for alert in self.alerts)
        return rows


def _like(row: Model, *, pk: Any = "", **other: Any) -> Model:
    """A new row with the columns of one there is, but for those told; `pk` None is left for the data base to count."""
    columns = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}  # noqa: SLF001
    own = {} if pk == "" else {row._meta.pk.attname: pk}  # noqa: SLF001
    return type(row)(**columns | other | own)
