"""Two supervisors place the same item at once: on PostgreSQL, with real connections of their own."""

import threading

import pytest
from django.db import connection

from inspections.models import CheckIn, KeptAside
from inspections.sync.kept_aside import discard_kept_aside, place_kept_aside
from inspections.sync.push import Push, push
from sitetrack.access.roles import Role
from sitetrack.kit.problems import Conflict
from tests import builders as b

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def test_of_two_supervisors_with_one_item_the_second_is_told_who_was_first() -> None:
    site = b.site()
    openings, hand = b.openings(site, 2), b.crew(site)
    bosses = [b.supervisor(site), b.member(site, Role.SUPERVISOR), b.member(site, Role.SUPERVISOR)]
    for n in range(12):
        raw = b.push_item(openings[0], "polish", note=str(n))
        push(batch=Push(hand, None, b.MONDAY, [raw]), now=b.MONDAY)
        item = KeptAside.objects.get(pk=raw["id"])
        gate = threading.Barrier(3)
        told: list[str] = []

        def settle(place: int, item: KeptAside = item, gate: threading.Barrier = gate, told: list[str] = told) -> None:
            gate.wait()
            try:
                if place < 2:
                    place_kept_aside(
                        item=item, opening=openings[place], stage="receive", who=bosses[place], now=b.MONDAY
                    )
                else:
                    discard_kept_aside(item=item, who=bosses[2], why="no such frame", now=b.MONDAY)
                told.append("done")
            except Conflict as conflict:
                told.append(conflict.detail)
            finally:
                connection.close()

        threads = [threading.Thread(target=settle, args=(place,)) for place in range(3)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
        item.refresh_from_db()
        assert sorted(t == "done" for t in told) == [False, False, True]
        assert all(item.settled_by.name in t for t in told if t != "done")
        assert CheckIn.objects.filter(pk=item.pk).count() == (item.settled == "placed")
