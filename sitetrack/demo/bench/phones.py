"""A site with phones on it, and readings as they send them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from random import Random
from typing import Any

from inspections.services.work_out import sweep
from inspections.trueness.opening import NominalOpening
from openings.models import Site
from openings.services.sites import open_site
from sitetrack.access.models import Company, Device, Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.access.services.enrolment import issue_token
from sitetrack.demo.measuring import read, set_frame
from sitetrack.demo.taking_in import take_csv_in
from sitetrack.kit.clock import now, rfc3339
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import INCH

AGO = timedelta(days=30)
FRAME = NominalOpening(INCH * 36, INCH * 84)
RIGHT = {"spreaders_in": True, "frame_undented": True, "inspected_in_wall": True}
# A crew reads a frame, moves it, reads it again: so many readings follow each other at one opening.
AT_ONE_OPENING = 5


@dataclass(frozen=True, slots=True)
class Crew:
    """A site's numbers and the phones of its frame crew, each with its token."""

    site: Site
    numbers: tuple[str, ...]
    phones: tuple[tuple[Device, str], ...]


def crew_on_site(openings: int, phones: int) -> Crew:
    """A new site of so many openings 3'-0" by 7'-0", worked out, and hands with a phone each."""
    at = now() - AGO
    mark = str(new_id())[-12:]
    boss = Person.objects.create_user(f"boss-{mark}@example.com", name="Bench")
    firm = Company.objects.create(name=f"Bench {mark}")
    site = open_site(code=f"b{mark}", name="Bench", supervisor=boss, company=firm, now=at)
    numbers = tuple(str(10_000 + n) for n in range(openings))
    lines = [f"{number},1,3'-0\",7'-0\",RH" for number in numbers]
    text = "\r\n".join(["Number,Floor,Width,Height,Hand", *lines])
    take_csv_in(site=site, text=text, file_name="bench.csv", label="", who=boss, now=at)
    sweep(now=at, limit=openings)
    hands = [Person.objects.create_user(f"hand-{n}-{mark}@example.com", name=f"Hand {n}") for n in range(phones)]
    Membership.objects.bulk_create(
        Membership(site=site, person=hand, company=firm, role=Role.CREW, trades=[Trade.FRAME_CREW], began_at=at)
        for hand in hands
    )
    tokens = tuple(issue_token(site_id=site.pk, person=hand, name="bench", kind="phone", now=at) for hand in hands)
    return Crew(site, numbers, tokens)


def readings_of(crew: Crew, count: int, seed: int) -> Iterator[dict[str, Any]]:
    """So many checks with ten readings each, as a phone sends them."""
    rng = Random(seed)
    began = now() - timedelta(hours=20)
    for n in range(count):
        yield {
            "id": str(new_id()),
            "site": str(crew.site.pk),
            "opening": crew.numbers[n // AT_ONE_OPENING % len(crew.numbers)],
            "stage": "trueness",
            "action": "finish",
            "happened_at": rfc3339(began + timedelta(seconds=n)),
            "counter": seed * 1_000_000 + n,
            "readings": read(set_frame(rng), FRAME, rng),
            "answers": RIGHT,
        }
