"""Whatever happens on a site and however it is pulled, a phone that has pulled holds what is so."""

import tracemalloc
from datetime import datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.models import Alert, CheckIn, Progress
from inspections.services.alerts import acknowledge, close
from inspections.services.work_out import work_out
from openings.models import Floor, Opening, ScheduleChange, Site
from openings.services.changes import next_numbers
from openings.services.schedule_record import Change, record_changes
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role, Trade
from sitetrack.kit.ids import new_id
from tests import builders as b
from tests.inspections.sync.phone_memory import PhoneMemory, assert_holds_the_truth
from tests.memory import memory_traced

pytestmark = pytest.mark.django_db

EVENTS = (
    "finish", "board", "hold", "release", "fail", "void", "close", "acknowledge", "drop", "list again", "rename",
    "new opening", "new role", "pull a page", "pull all",
)  # fmt: skip


class Job:
    """A small site on which anything may happen."""

    def __init__(self, limit: int) -> None:
        self.site = b.site()
        self.boss = b.supervisor(self.site)
        self.hand = b.crew(self.site, Trade.FRAME_CREW, Trade.DRYWALL)
        self.reader = b.crew(self.site)
        self.openings = b.openings(self.site, 4)
        self.phone = PhoneMemory(self.site, self.reader, limit=limit)
        self.now: datetime = b.MONDAY

    def happen(self, event: str, pick: int) -> None:
        self.now += b.MINUTE
        opening = self.openings[pick % len(self.openings)]
        if event == "pull a page":
            self.phone.pull_page(self.now)
        elif event == "pull all":
            self.phone.pull_all(self.now)
        elif event in {"finish", "board", "hold", "fail"}:
            self._report(event, opening)
        elif event in {"release", "void"}:
            self._undo(event, opening)
        elif event in {"close", "acknowledge"}:
            self._answer_alert(event)
        elif event in {"drop", "list again"}:
            self._schedule(opening, listed=event == "list again")
        elif event == "rename":
            Floor.objects.filter(pk=opening.floor_id).update(name=f"Level {self.now:%H%M}")
        elif event == "new opening":
            self.openings.append(b.opening(self.site))
        else:
            role = [Role.CREW, Role.VIEWER, Role.INSPECTOR][pick % 3]
            Membership.objects.filter(person=self.reader).update(role=role)

    def _report(self, event: str, opening: Opening) -> None:
        stage, action, more = {
            "finish": ("receive", "finish", {}),
            "board": ("board", "start", {}),
            "hold": ("set", "hold", {"note": "wait"}),
            "fail": ("match", "fail", {"note": "wrong hand"}),
        }[event]
        b.check_in(self.hand, opening, stage, action, at=self.now, **more)

    def _undo(self, event: str, opening: Opening) -> None:
        wanted = {"opening": opening, "action__in": ["hold"] if event == "release" else ["hold", "fail", "start"]}
        about = CheckIn.objects.filter(**wanted).order_by("id").last()
        if about:
            b.check_in(self.boss, opening, about.stage, event, about=about.pk, at=self.now)

    def _answer_alert(self, event: str) -> None:
        alert = Alert.objects.filter(site=self.site, closed_at=None).order_by("id").first()
        if alert and event == "close":
            close(alert=alert, who=self.boss, why="seen to", now=self.now)
        elif alert:
            acknowledge(alert=alert, who=self.boss, now=self.now)

    def _schedule(self, opening: Opening, *, listed: bool) -> None:
        opening.refresh_from_db()
        opening.in_schedule = listed
        kind = ScheduleChange.Kind.BACK if listed else ScheduleChange.Kind.MISSING
        record_changes(site=self.site, changes=[Change(opening, kind)], revision=None, who=self.boss, now=self.now)
        work_out(opening_ids=[opening.pk], now=self.now)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    limit=st.sampled_from([1, 2, 5, 500]),
    events=st.lists(st.tuples(st.sampled_from(EVENTS), st.integers(0, 5)), max_size=25),
)
def test_a_phone_that_has_pulled_holds_what_is_so(limit: int, events: list[tuple[str, int]]) -> None:
    job = Job(limit)
    for event, pick in events:
        job.happen(event, pick)
    job.phone.pull_all(job.now)
    assert_holds_the_truth(job.phone)
    assert job.phone.pull_all(job.now) == []


def a_big_site(count: int) -> tuple[Site, Person]:
    """So many openings, all with progress, without the work of folding each."""
    site = b.site()
    first = b.opening(site)
    b.check_in(b.crew(site), first)
    progress = Progress.objects.get(opening=first)
    facts: dict[str, Any] = {f.attname: getattr(first, f.attname) for f in Opening._meta.concrete_fields}
    numbers = iter(next_numbers(site.pk, 2 * count))
    rows = [Opening(**facts | {"id": new_id(), "number": f"X{n}", "seq": next(numbers)}) for n in range(count)]
    Opening.objects.bulk_create(rows, batch_size=1000)
    standing: dict[str, Any] = {f.attname: getattr(progress, f.attname) for f in Progress._meta.concrete_fields}
    Progress.objects.bulk_create(
        [Progress(**standing | {"opening_id": row.pk, "seq": next(numbers)}) for row in rows], batch_size=1000
    )
    return site, b.crew(site)


def most_memory_of_a_page(count: int) -> int:
    """The most bytes that any page of a first load held, apart from what the phone keeps."""
    site, hand = a_big_site(count)
    phone = PhoneMemory(site, hand)
    most, more, told = 0, True, 0
    with memory_traced():
        while more:
            tracemalloc.reset_peak()
            before, _ = tracemalloc.get_traced_memory()
            page = phone.pull_page()
            most = max(most, tracemalloc.get_traced_memory()[1] - before)
            more, told = page.more, told + len(page.changes)
            phone.records.clear()
            phone.heard.clear()
    assert told > count
    return most


def test_a_first_load_of_a_big_site_holds_one_page_at_a_time() -> None:
    small, large = most_memory_of_a_page(1000), most_memory_of_a_page(5000)
    assert large < small * 1.3
