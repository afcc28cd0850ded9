"""A status takes bounded memory, and says how far it is."""

import tracemalloc

import pytest
from django.db import transaction

from inspections.models import CheckIn
from openings.models import Opening
from openings.services.changes import next_numbers
from sitetrack.kit.ids import new_id
from sitetrack.reports import snapshot
from sitetrack.reports.making import Format, make_status
from tests import builders as make
from tests.memory import memory_traced
from tests.reports.story import AFTER, WEEK

pytestmark = pytest.mark.django_db
MEGABYTE = 1_000_000
FORMATS = (Format.XLSX, Format.ZIP, Format.JSON, Format.LETTER)


def many(site, count, each=2):
    """So many openings, each with some stored check-ins, written as rows: only the reading of them is of interest."""
    like = make.opening(site)
    who = make.supervisor(site)
    firm = who.memberships.get().company_id
    with transaction.atomic():
        numbers = iter(next_numbers(site.pk, count * each))
        made = [
            Opening(
                site=site, floor=like.floor, number=f"M{n:05}", plan=like.plan, wall=like.wall,
                construction="welded", electrified=False, changed_at=make.MONDAY, seq=n,
            )
            for n in range(count)
        ]  # fmt: skip
        Opening.objects.bulk_create(made, batch_size=500)
        CheckIn.objects.bulk_create(
            (
                CheckIn(id=new_id(), site=site, opening=opening, person=who, company_id=firm, role="supervisor",
                        stage=stage, action="finish", happened_at=at, corrected_at=at, received_at=at, uncertainty_ms=0,
                        content_digest="", seq=next(numbers), note="stands by the east stair")
                for opening in made
                for at, stage in zip((make.MONDAY + n * make.MINUTE for n in range(each)),
                                     ("receive", "match", "ffl", "layout"), strict=False)
            ),
            batch_size=500,
        )  # fmt: skip


def peak_of(site, folder):
    """The most memory, in bytes, that making every file of a status took at once."""
    seen = []
    with memory_traced():
        make_status(
            site=site, week=WEEK, now=AFTER, folder=folder, formats=FORMATS,
            progress=lambda done, whole: seen.append((done, whole)),
        )  # fmt: skip
        return tracemalloc.get_traced_memory()[1], seen


def test_ten_times_the_openings_take_no_more_than_a_little_more_memory(tmp_path, monkeypatch):
    """Small chunks stand for large jobs: what must not grow with the openings shows with a hundred or two."""
    monkeypatch.setattr(snapshot, "CHUNK", 10)
    small, large = make.site("small"), make.site("large")
    many(small, 20)
    many(large, 200)
    peak_of(small, tmp_path / "warm")  # what is loaded once for all
    little, _ = peak_of(small, tmp_path / "small")
    much, seen = peak_of(large, tmp_path / "large")
    assert much < little + MEGABYTE, f"{little / MEGABYTE:.2f} MB for 20, {much / MEGABYTE:.2f} MB for 200"
    assert seen[-1] == (201, 201)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
