"""Several phones through everything that happens to phones: what one believed sent is there, once, and all agree.

A model of the phones beside the real server. They are off signal and on it; answers are lost after the commit; batches
are sent twice, split and out of order; clocks are skewed and jump; apps are reinstalled; tokens are revoked; the server
dies before it has worked out what it stored; two supervisors place the same item that was kept aside.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from inspections.models import CheckIn, KeptAside, Progress
from inspections.services.cases import work_out_cases
from inspections.services.work_out import sweep, work_out
from inspections.sync.kept_aside import place_kept_aside
from inspections.sync.push import Push, push
from openings.models import DirtyOpening
from sitetrack.access.models import Device
from sitetrack.access.roles import Trade
from sitetrack.access.services.enrolment import revoke_device
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.problems import Conflict
from tests import builders as b
from tests.inspections.sync.phone_memory import PhoneMemory, assert_holds_the_truth

PHONES = st.integers(min_value=0, max_value=2)
STORED = {"stored", "known", "kept_aside"}
MISREAD = "MISREAD"


@dataclass
class Phone:
    """What is in a hand's pocket: a queue, a clock that may be wrong, and what it has been told was taken."""

    person: Any
    device: Device
    memory: PhoneMemory
    skew: timedelta = timedelta(0)
    counter: int = 0
    queue: list[dict[str, Any]] = field(default_factory=list)
    believed: set[str] = field(default_factory=set)


class Phones(RuleBasedStateMachine):
    """One small site, three phones, and a server that may die at any moment."""

    @initialize()
    def a_site_with_three_phones(self) -> None:
        self.site = b.site()
        self.now: datetime = b.MONDAY
        self.openings = b.openings(self.site, 3)
        work_out(opening_ids=[opening.pk for opening in self.openings], now=self.now)
        self.supervisors = [b.supervisor(self.site), b.member(self.site, "supervisor")]
        self.phones = []
        for _ in range(3):
            hand = b.crew(self.site, Trade.FRAME_CREW)
            device, _token = b.device(self.site, hand)
            self.phones.append(Phone(hand, device, PhoneMemory(self.site, hand, device, limit=3)))

    def _later(self, minutes: int = 1) -> datetime:
        self.now += timedelta(minutes=minutes)
        return self.now

    @rule(which=PHONES, where=st.integers(0, 3), action=st.sampled_from(["start", "finish", "note", "hold"]))
    def report_without_signal(self, which: int, where: int, action: str) -> None:
        phone = self.phones[which]
        phone.counter += 1
        opening = self.openings[where % 3]
        happened = rfc3339(self._later() + phone.skew)
        item = b.push_item(opening, "receive", action, happened_at=happened, counter=phone.counter)
        phone.queue.append(item | {"opening": MISREAD} if where == 3 else item)

    @rule(
        which=PHONES,
        part=st.sampled_from(["all", "first half", "backwards", "twice over"]),
        answered=st.booleans(),
        worked_out=st.booleans(),
    )
    def send(self, which: int, part: str, answered: bool, worked_out: bool) -> None:
        phone = self.phones[which]
        batch = list(phone.queue)
        if part == "first half":
            batch = batch[: (len(batch) + 1) // 2]
        elif part == "backwards":
            batch.reverse()
        elif part == "twice over":
            batch += batch
        if Device.objects.get(pk=phone.device.pk).revoked_at:
            return  # the token is refused at the door; the queue stays
        now = self._later()
        pushed = push(batch=Push(phone.person, phone.device, now + phone.skew, batch), now=now)
        if worked_out:  # else the server died between commit and job
            work_out(opening_ids=pushed.openings, now=now)
        if answered:
            assert {r.outcome for r in pushed.results} <= STORED
            phone.believed |= {r.id for r in pushed.results}
            phone.queue = [item for item in phone.queue if item["id"] not in phone.believed]

    @rule(which=PHONES, minutes=st.integers(-600_000, 600_000))
    def clock_jumps(self, which: int, minutes: int) -> None:
        self.phones[which].skew = timedelta(minutes=minutes)

    @rule(which=PHONES)
    def token_revoked_and_enrolled_again(self, which: int) -> None:
        phone = self.phones[which]
        revoke_device(device=phone.device, who=b.supervisor(self.site), now=self._later())
        phone.device, _token = b.device(self.site, phone.person)
        phone.memory.device = phone.device

    @rule(which=PHONES)
    def app_reinstalled(self, which: int) -> None:
        """What was not sent is gone with the app; what it was told was taken must not be."""
        phone = self.phones[which]
        phone.device, _token = b.device(self.site, phone.person)
        phone.queue, phone.counter = [], 0
        phone.memory = PhoneMemory(self.site, phone.person, phone.device, limit=3)

    @rule(which=PHONES, whole=st.booleans(), lost=st.booleans())
    def pull(self, which: int, whole: bool, lost: bool) -> None:
        memory = self.phones[which].memory
        if lost:
            PhoneMemory(self.site, memory.person, memory.device, limit=3, cursor=memory.cursor).pull_page(self.now)
        elif whole:
            memory.pull_all(self.now)
        else:
            memory.pull_page(self.now)

    @rule(first=st.integers(0, 2), second=st.integers(0, 2))
    def two_supervisors_place_the_same_item(self, first: int, second: int) -> None:
        item = KeptAside.objects.filter(site=self.site, settled="").first()
        if item is None:
            return
        for who, where in zip(self.supervisors, (first, second), strict=True):
            try:
                place_kept_aside(item=item, opening=self.openings[where], stage="receive", who=who, now=self._later())
            except Conflict:
                assert first != second
        assert CheckIn.objects.get(pk=item.pk).opening_id == self.openings[first].pk

    def teardown(self) -> None:
        """Everyone comes back into signal, and the sweep does what was left."""
        if not hasattr(self, "phones"):
            return
        for which in range(3):
            self.send(which, "all", answered=True, worked_out=False)
        sweep(now=self.now)
        assert not DirtyOpening.objects.filter(site=self.site).exists()
        taken = {str(pk) for pk in CheckIn.objects.filter(site=self.site).values_list("pk", flat=True)}
        aside = {str(pk) for pk in KeptAside.objects.filter(site=self.site, settled="").values_list("pk", flat=True)}
        assert not taken & aside
        for phone in self.phones:
            assert not phone.queue
            assert phone.believed <= taken | aside
            phone.memory.pull_all(self.now)
            assert_holds_the_truth(phone.memory)
        for worked in work_out_cases([opening.pk for opening in self.openings]):
            assert Progress.objects.get(pk=worked.opening.pk).state == worked.state.to_dict()


@pytest.mark.django_db
def test_nothing_believed_sent_is_missing_nothing_counts_twice_and_all_phones_agree() -> None:
    run_state_machine_as_test(
        Phones,
        settings=settings(
            max_examples=25, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )
