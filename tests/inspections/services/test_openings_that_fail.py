"""An opening whose record trips the program: the others go on, it waits longer each time, and it is told."""

from datetime import timedelta

import pytest

from inspections.models import Progress
from inspections.selectors.owed import owed
from inspections.services.work_out import sweep, work_out
from openings.models import DirtyOpening, Opening, SequencePlan, Site
from tests import builders as b

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return b.site()


@pytest.fixture
def tripping(site: Site) -> Opening:
    """An opening with a plan that no release would have stored: every fold of it raises."""
    opening = b.opening(site, "T1")
    broken = SequencePlan.objects.create(
        site=site, code="broken", version=1, wall_kind=opening.plan.wall_kind, stages=[{"code": 7}], current=False
    )
    Opening.objects.filter(pk=opening.pk).update(plan=broken)
    DirtyOpening.objects.all().delete()
    return opening


def mark(site: Site, *openings: Opening) -> None:
    DirtyOpening.objects.bulk_create(DirtyOpening(site=site, opening=o, marked_at=b.MONDAY) for o in openings)


def failing() -> dict[str, int]:
    return {kind.kind: kind.waiting for kind in owed(b.MONDAY)}


def test_it_keeps_no_other_from_being_worked_out_and_waits(site: Site, tripping: Opening) -> None:
    fine = b.opening(site, "F1")
    DirtyOpening.objects.all().delete()
    mark(site, tripping, fine)
    assert sweep(now=b.MONDAY) == 2
    assert Progress.objects.filter(pk=fine.pk).exclude(state={}).exists()
    left = DirtyOpening.objects.get()
    assert (left.opening_id, left.tries) == (tripping.pk, 1)
    assert left.not_before > b.MONDAY
    assert failing()["openings that can't be worked out"] == 1
    assert sweep(now=b.MONDAY) == 0, "not in a loop"


def test_each_wait_is_longer_and_none_longer_than_six_hours(site: Site, tripping: Opening) -> None:
    mark(site, tripping)
    at, waits = b.MONDAY, []
    for _ in range(14):
        assert sweep(now=at) == 1
        due = DirtyOpening.objects.get().not_before
        assert due
        waits.append(due - at)
        at = due
    assert all(later > earlier * 0.99 for earlier, later in zip(waits[:7], waits[2:9], strict=True))
    assert max(waits) <= timedelta(hours=6)
    assert waits[0] <= timedelta(minutes=1)


def test_what_is_new_goes_first_and_a_new_report_tries_it_at_once(site: Site, tripping: Opening) -> None:
    mark(site, tripping)
    sweep(now=b.MONDAY)
    mark(site, tripping)
    assert sweep(now=b.MONDAY) == 1


def test_mended_it_is_worked_out_and_owed_no_more(site: Site, tripping: Opening) -> None:
    mark(site, tripping)
    sweep(now=b.MONDAY)
    Opening.objects.filter(pk=tripping.pk).update(plan=tripping.plan)
    work_out(opening_ids=[tripping.pk], now=b.MONDAY)
    assert not DirtyOpening.objects.exists()
    assert failing()["openings that can't be worked out"] == 0
