"""A reader skips nothing, whatever the writers do: on PostgreSQL, with transactions held open.

Numbers from a plain sequence would fail the first of these tests: the transaction that took the lower number commits
last, and a reader who has seen the higher one never looks back.
"""

import random
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from django.db import connection, transaction

from inspections.services.check_ins import record_check_ins
from inspections.services.reports import Sender
from inspections.services.work_out import work_out
from inspections.sync import numbered
from openings.models import Opening, Site
from openings.services.changes import next_numbers
from sitetrack.access.scope import membership_of
from sitetrack.kit.ids import new_id
from tests import builders as b
from tests.inspections.sync.phone_memory import PhoneMemory, assert_holds_the_truth

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

PATIENCE = 30


@contextmanager
def running(*jobs: Callable[[], object]) -> Iterator[list[threading.Thread]]:
    """The jobs in threads of their own, joined at the end; a job that fails fails the test."""
    failed: list[BaseException] = []

    def run(job: Callable[[], object]) -> None:
        try:
            job()
        except BaseException as error:  # noqa: BLE001 - handed to the test, which fails on it
            failed.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    yield threads
    for thread in threads:
        thread.join(timeout=PATIENCE)
    assert not any(thread.is_alive() for thread in threads)
    assert not failed, failed


def touch(opening: Opening) -> None:
    """Give an opening its next number; the caller commits."""
    Opening.objects.filter(pk=opening.pk).update(seq=next_numbers(opening.site_id, 1)[0])


def test_a_slow_transaction_with_a_lower_number_is_never_stepped_past() -> None:
    site = b.site()
    slow, quick = b.openings(site, 2)
    phone = PhoneMemory(site, b.crew(site))
    phone.pull_all()
    has_number, may_commit = threading.Event(), threading.Event()

    def write_slowly() -> None:
        with transaction.atomic():
            touch(slow)
            has_number.set()
            assert may_commit.wait(PATIENCE)

    def write_quickly() -> None:
        assert has_number.wait(PATIENCE)
        with transaction.atomic():
            touch(quick)

    with running(write_slowly, write_quickly) as (_, quick_thread):
        assert has_number.wait(PATIENCE)
        time.sleep(0.3)
        assert quick_thread.is_alive(), "the second number is not given before the first is committed"
        assert phone.pull_all() == [], "what is not committed is not told"
        may_commit.set()
        quick_thread.join(PATIENCE)
        told = [c["id"] for c in phone.pull_all()]
    assert told == [str(slow.pk), str(quick.pk)]


def test_what_commits_between_two_queries_of_one_page_is_told_on_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    """The counter is read first. A change of facts committed after facts were looked at, but before progress was, has
    a lower number than a change of progress the page already sees; the page must not step past it."""
    site = b.site()
    first, second = b.openings(site, 2)
    work_out(opening_ids=[first.pk, second.pk], now=b.MONDAY)
    phone = PhoneMemory(site, b.crew(site))
    phone.pull_all()
    by_progress = numbered._by_progress

    def write() -> None:
        with transaction.atomic():
            touch(first)
        b.check_in(b.crew(site), second)

    def by_progress_after_a_write(span: numbered.Span, most: int) -> object:
        monkeypatch.setattr(numbered, "_by_progress", by_progress)
        with running(write):  # in another connection, as another process would
            pass
        return by_progress(span, most)

    with transaction.atomic():
        touch(b.opening(site))  # something to tell, so that the page is not empty from the start
    monkeypatch.setattr(numbered, "_by_progress", by_progress_after_a_write)
    told = [c["id"] for _ in range(2) for c in phone.pull_all()]
    assert {str(first.pk), str(second.pk)} <= set(told)
    assert_holds_the_truth(phone)


def test_readers_miss_nothing_while_many_write_at_their_own_pace() -> None:
    site = b.site()
    openings = b.openings(site, 12)
    writers = [b.crew(site) for _ in range(4)]
    phones = [PhoneMemory(site, b.crew(site), limit=limit) for limit in (1, 3, 500)]
    stop = threading.Event()

    def write(place: int) -> Callable[[], None]:
        chance = random.Random(place)
        sender = Sender(writers[place], membership_of(writers[place], site.pk))

        def run() -> None:
            for n in range(12):
                picked = chance.sample(openings, 3)
                with transaction.atomic():
                    for opening in sorted(picked[:2], key=lambda o: o.pk):
                        touch(opening)
                    time.sleep(chance.random() * 0.02)
                reports = [b.report(o, "set", "hold", note=f"{place} {n}") for o in picked]
                record_check_ins(site=site, sender=sender, reports=reports, device_time=None, now=b.MONDAY)
                work_out(opening_ids=[o.pk for o in picked], now=b.MONDAY)

        return run

    def read(phone: PhoneMemory) -> Callable[[], None]:
        def run() -> None:
            while not stop.is_set():
                phone.pull_page()

        return run

    with running(*(read(phone) for phone in phones)):
        with running(*(write(place) for place in range(4))):
            pass
        stop.set()
    for phone in phones:
        phone.pull_all()
        assert phone.resets == 0
        assert_holds_the_truth(phone)
        assert len(phone.of("hold")) == 4 * 12 * 3
    assert Site.objects.get(pk=site.pk).change_counter > 150


def test_a_pull_walks_an_index_from_where_it_stopped() -> None:
    """On 20,000 openings with as many numbers behind them, a pull of the last few reads no table from end to end."""
    site = b.site()
    hand = b.crew(site)
    template = b.opening(site)
    facts = {f.attname: getattr(template, f.attname) for f in Opening._meta.concrete_fields}
    numbers = next_numbers_of(site, 20_000)
    Opening.objects.bulk_create(
        [Opening(**facts | {"id": new_id(), "number": f"X{n}", "seq": n}) for n in numbers], batch_size=5000
    )
    phone = PhoneMemory(site, hand, limit=1000)
    phone.pull_all()
    with connection.cursor() as db:
        db.execute("ANALYZE")
    with transaction.atomic():
        touch(template)
    read_before = rows_read_by_scan("openings_opening")
    assert [c["id"] for c in phone.pull_all()] == [str(template.pk)]
    assert rows_read_by_scan("openings_opening") - read_before < 1000


def next_numbers_of(site: Site, count: int) -> range:
    with transaction.atomic():
        return next_numbers(site.pk, count)


def rows_read_by_scan(table: str) -> int:
    """Rows that sequential scans have read of a table so far, by PostgreSQL's own count."""
    with connection.cursor() as db:
        db.execute("SELECT pg_stat_force_next_flush()")
        db.execute("SELECT seq_tup_read FROM pg_stat_user_tables WHERE relname = %s", [table])
        return int(db.fetchone()[0])
