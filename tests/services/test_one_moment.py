"""What is read as of one moment stays so, while others write; PostgreSQL's own default does not give that."""

from threading import Thread

import pytest
from django.db import InternalError, connection, transaction

from sitetrack.access.models import Company
from sitetrack.kit.one_moment import one_moment

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def written_meanwhile(name: str) -> None:
    """By another connection, committed before this returns."""

    def write() -> None:
        Company.objects.create(name=name)
        connection.close()

    thread = Thread(target=write)
    thread.start()
    thread.join(20)
    assert not thread.is_alive(), "a reader keeps no writer waiting"


def test_a_reader_sees_one_moment_and_keeps_no_writer_waiting() -> None:
    with one_moment():
        before = Company.objects.count()
        written_meanwhile("Elm Frames")
        assert Company.objects.count() == before
    assert Company.objects.count() == before + 1


def test_without_it_two_readings_of_one_transaction_may_differ() -> None:
    """Why it is needed: read committed, PostgreSQL's default, reads anew at every statement."""
    with transaction.atomic():
        before = Company.objects.count()
        written_meanwhile("Birch Frames")
        assert Company.objects.count() == before + 1


def test_nothing_is_written_inside() -> None:
    with pytest.raises(InternalError, match="read-only"), one_moment():
        Company.objects.create(name="Nobody")
