"""Two workers, two tabs, two supervisors: on PostgreSQL, with real connections of their own."""

import threading
from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

import pytest
from django.db import connection

from inspections.models import CheckIn, Progress
from inspections.services.check_ins import record_check_ins
from inspections.services.reports import Sender
from inspections.services.work_out import work_out
from openings.models import DirtyOpening, Site
from sitetrack.access.scope import membership_of
from tests import builders as b

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def together(*jobs: Callable[[], object]) -> list[object]:
    """Run the jobs in threads of their own, let go at one moment; what each gave back."""
    gate = threading.Barrier(len(jobs))
    results: list[object] = [None] * len(jobs)

    def run(place: int, job: Callable[[], object]) -> None:
        try:
            gate.wait()
            results[place] = job()
        except Exception as error:  # noqa: BLE001 - handed to the test, which fails on it
            results[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(jobs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    failed = [r for r in results if isinstance(r, Exception)]
    assert not failed, failed
    return results


def test_the_same_batch_from_two_tabs_is_stored_once():
    opening = b.opening(b.site())
    hand = b.crew(opening.site)
    sender = Sender(hand, membership_of(hand, opening.site.pk))
    reports = [b.report(opening, "receive", "note", note=str(n)) for n in range(50)]

    def send():
        return [
            r.outcome
            for r in record_check_ins(site=opening.site, sender=sender, reports=reports, device_time=None, now=b.MONDAY)
        ]

    outcomes = together(send, send, send)
    assert CheckIn.objects.count() == 50
    assert sorted(o for one in outcomes for o in one) == ["known"] * 100 + ["stored"] * 50


def test_numbers_are_given_in_commit_order():
    """A reader who has seen n never later finds a number below n, however the writers interleave."""
    site = b.site()
    hand = b.crew(site)
    openings = b.openings(site, 4)
    sender = Sender(hand, membership_of(hand, site.pk))
    stop = threading.Event()
    seen: list[set[int]] = []

    def write(opening):
        def run():
            for n in range(15):
                record_check_ins(
                    site=site, sender=sender, reports=[b.report(opening, "receive", "note", note=str(n))],
                    device_time=None, now=b.MONDAY,
                )  # fmt: skip

        return run

    def read():
        while not stop.is_set():
            seen.append(set(CheckIn.objects.filter(site=site).values_list("seq", flat=True)))

    reader = threading.Thread(target=lambda: (read(), connection.close()))
    reader.start()
    together(*(write(opening) for opening in openings))
    stop.set()
    reader.join()
    for before, after in pairwise(seen):
        assert all(number > max(before, default=0) for number in after - before)
    assert len(seen) > 3


def test_workers_and_phones_on_the_same_openings_never_lose_a_check_in():
    site = b.site()
    openings = b.openings(site, 3)
    hand = b.crew(site)
    sender = Sender(hand, membership_of(hand, site.pk))
    ids = [o.pk for o in openings]

    def push(opening, stage):
        def run():
            for n in range(8):
                at = b.MONDAY + timedelta(minutes=n)
                record_check_ins(
                    site=site, sender=sender, reports=[b.report(opening, stage, "finish", at=at)],
                    device_time=None, now=at,
                )  # fmt: skip

        return run

    def work(order):
        return lambda: [work_out(opening_ids=order, now=b.MONDAY) for _ in range(8)]

    together(*(push(o, "receive") for o in openings), work(ids), work(ids[::-1]), work(ids))
    work_out(opening_ids=DirtyOpening.objects.values_list("opening", flat=True), now=b.MONDAY)
    assert CheckIn.objects.count() == 24
    for progress in Progress.objects.filter(opening__in=ids):
        assert progress.state["stages"]["receive"]["state"] == "done"
        assert progress.state["last_at"] == int((b.MONDAY + timedelta(minutes=7)).timestamp() * 1000)
    assert Site.objects.get(pk=site.pk).change_counter >= 24
