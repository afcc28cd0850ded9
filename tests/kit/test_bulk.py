"""Rows written many at once are the rows that Django's own bulk_create writes."""

from datetime import UTC, datetime

import pytest
from django.db import IntegrityError, transaction
from django.forms.models import model_to_dict

from inspections.models import Progress
from openings.models import DirtyOpening, Floor
from sitetrack.kit.bulk import FEW, insert_rows, upsert_rows
from sitetrack.kit.lengths import parse_length
from tests import builders

pytestmark = pytest.mark.django_db
AWKWARD = "tab\t, line\nfeed, back\\slash, \\N, “quotes”, Ü, 🚪"


def _floors(site, count, **more):
    house = builders.building(site)
    return [Floor(site=site, building=house, code=f"F{n}", name=AWKWARD, level=-n, **more) for n in range(count)]


def _plain(row):
    return model_to_dict(row, exclude=["id", "site", "building"])


@pytest.mark.parametrize("count", [1, FEW * 3])
def test_new_rows_are_those_of_bulk_create(count):
    ours, theirs = builders.site(), builders.site()
    insert_rows(_floors(ours, count, elevation=parse_length("3'-0 1/64\"")))
    Floor.objects.bulk_create(_floors(theirs, count, elevation=parse_length("3'-0 1/64\"")))
    kept = [[_plain(row) for row in Floor.objects.filter(site=of).order_by("code")] for of in (ours, theirs)]
    assert kept[0] == kept[1]
    assert len(kept[0]) == count


def test_a_key_that_the_data_base_counts_is_left_to_it():
    of = builders.opening(builders.site())
    DirtyOpening.objects.all().delete()
    insert_rows(DirtyOpening(site=of.site, opening=of, marked_at=builders.MONDAY) for _ in range(FEW * 2))
    assert len(set(DirtyOpening.objects.values_list("pk", flat=True))) == FEW * 2


def test_a_row_that_is_there_already_sinks_all_of_them():
    site = builders.site()
    insert_rows(_floors(site, FEW))
    with pytest.raises(IntegrityError), transaction.atomic():
        insert_rows(_floors(site, FEW * 2))
    assert Floor.objects.filter(site=site).count() == FEW


def test_rows_there_already_are_brought_up_to_date_and_new_ones_added():
    site = builders.site()
    openings = builders.openings(site, 3)
    moment = datetime(2026, 3, 2, 14, 0, 0, 123456, tzinfo=UTC)

    def progress(of, state, **more):
        return Progress(
            opening=of, site=site, floor=of.floor, state=state, worked_out_at=moment, earned=1, total=2, seq=7, **more
        )

    upsert_rows(
        [progress(of, {"said": AWKWARD, "at": 1.5, "none": None}) for of in openings[:2]],
        unique=["opening"],
        update=["state", "last_at"],
    )
    upsert_rows(
        [progress(of, {"again": [1, 2]}, last_at=moment, next_stage="set") for of in openings],
        unique=["opening"],
        update=["state", "last_at"],
    )
    first, second, third = Progress.objects.order_by("opening__number")
    for row in (first, second, third):
        assert (row.state, row.last_at, row.worked_out_at) == ({"again": [1, 2]}, moment, moment)
    assert [row.next_stage for row in (first, second, third)] == ["", "", "set"]
