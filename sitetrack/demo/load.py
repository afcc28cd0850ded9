"""Loading the demo: every batch through the same door as a phone's, in the order and at the time of its receipt."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import count
from typing import Any

from django.db import transaction

from inspections.models import Alert
from inspections.services import site_alerts, work_out
from inspections.services.alerts import acknowledge, close
from inspections.sync.push import Push, push
from openings.models import Site
from sitetrack.demo.entries import Entry
from sitetrack.demo.ground import Ground, prepare
from sitetrack.demo.names import SITE_CODE, SUPERVISOR
from sitetrack.demo.phones import BY_PHONE
from sitetrack.demo.simulate import Batch, Demo, simulate
from sitetrack.demo.taking_in import take_csv_in
from sitetrack.kit.clock import rfc3339

Say = Callable[[str], None]
# Batches that come together are worked out together, as a busy server does; at breaks every phone comes at once.
TOGETHER = timedelta(minutes=10)
# Every so many batches the answer is lost on the way and the phone sends the same again.
SENT_AGAIN = 60
AGAIN_AFTER = timedelta(seconds=45)
EVENING = "18:00"
# What the supervisor clears on the evening after: the alerts that no later check-in can explain away.
CLEARED = {
    "readings-contradict": "Tape misread; read again within the hour and right",
    "spreaders-out-before-recheck": "Spreaders put back the same day, frame read again and true",
}


def is_loaded() -> bool:
    """Whether the demo site is there already."""
    return Site.objects.filter(code=SITE_CODE).exists()


@transaction.atomic
def load(
    *,
    now: datetime,
    seed: int,
    openings: int,
    say: Say = lambda text: None,
    code: str = SITE_CODE,
    ahead: timedelta = timedelta(0),
) -> Site:
    """Load the demo as it stands at `now`, or as it stood so long before its end; all of it or, on failure, nothing."""
    demo = simulate(now=now + ahead, seed=seed, count=openings)
    demo = replace(demo, batches=[batch for batch in demo.batches if batch.received_at <= now])
    ground = prepare(demo.days, code=code)
    loading = _Loading(demo, ground)
    loading.take_schedule_in(demo.first_issue, "Issue 1", demo.days.at(demo.days.days[0], "05:30"))
    for done, batch in enumerate(demo.batches):
        if done % 200 == 0:
            say(f"  {batch.received_at.astimezone(demo.days.zone):%a %d %b}: {done} of {len(demo.batches)} batches")
        loading.let_time_pass(batch.received_at)
        loading.receive(batch)
    loading.let_time_pass(now)
    work_out.sweep(now=now)
    site_alerts.raise_site_alerts(site=ground.site, now=now)
    return ground.site


class _Loading:
    """The state of one loading: the phones' counters, and how far the evenings have been kept."""

    def __init__(self, demo: Demo, ground: Ground) -> None:
        self._demo, self._ground = demo, ground
        self._counters: dict[str, Iterator[int]] = {phone: count(1) for phone in ground.devices}
        self._batches = 0
        self._day = demo.days.days[0]
        self._revised = False
        self._owed: tuple[datetime, datetime] | None = None  # first and last receipt not worked out yet

    def take_schedule_in(self, text: str, label: str, now: datetime) -> None:
        """Take a schedule in and work its openings out."""
        boss = self._ground.people[SUPERVISOR]
        name = f"{SITE_CODE}-{label.lower().replace(' ', '-')}.csv"
        take_csv_in(site=self._ground.site, text=text, file_name=name, label=label, who=boss, now=now)
        work_out.sweep(now=now)

    def let_time_pass(self, until: datetime) -> None:
        """Do what is due before `until`: work out what came in, take the revision in, look at the alerts at evening."""
        days = self._demo.days
        if self._owed and until - self._owed[0] > TOGETHER:
            work_out.sweep(now=self._owed[1])
            self._owed = None
        if not self._revised and until >= self._demo.revised_at:
            self._revised = True
            self.take_schedule_in(self._demo.revision, "Revision 2", self._demo.revised_at)
        while self._day < days.day_of(until) or (
            self._day == days.day_of(until) and days.at(self._day, EVENING) < until
        ):
            self._keep_evening(self._day)
            self._day += timedelta(days=1)

    def receive(self, batch: Batch) -> None:
        """Receive one batch, and sometimes the same once more."""
        device = self._ground.devices[batch.phone]
        phone = BY_PHONE[batch.phone]
        site = self._ground.site
        items = [self._item(entry, next(self._counters[batch.phone]), phone.clock_ahead) for entry in batch.entries]
        self._batches += 1
        for again in range(2 if self._batches % SENT_AGAIN == 0 else 1):
            now = batch.received_at + AGAIN_AFTER * again
            sent = Push(self._ground.people[phone.owner], device, now + phone.clock_ahead, items)
            pushed = push(batch=sent, now=now)
            if refused := [r.problem for r in pushed.results if r.outcome == "refused"]:
                raise RuntimeError(f"the demo made a check-in of {site} that was refused: {refused[0]}")
            self._owed = (self._owed[0] if self._owed else now, now)

    def _item(self, entry: Entry, counter: int, clock_ahead: timedelta) -> dict[str, Any]:
        """The item as the phone sends it, by the phone's own clock."""
        said = entry.said
        item: dict[str, Any] = {
            "id": str(entry.id),
            "site": str(self._ground.site.pk),
            "opening": entry.opening,
            "stage": entry.stage,
            "action": entry.action,
            "happened_at": rfc3339(entry.at + clock_ahead),
            "counter": counter,
            "about": str(said.about) if said.about else None,
            "readings": dict(said.readings),
            "answers": dict(said.answers),
            "note": said.note,
            "photos": [],
        }
        return item

    def _keep_evening(self, day: date) -> None:
        now = self._demo.days.at(day, EVENING)
        boss = self._ground.people[SUPERVISOR]
        site_alerts.raise_site_alerts(site=self._ground.site, now=now)
        seen = Alert.objects.filter(site=self._ground.site, closed_at=None, opened_at__lt=now - timedelta(hours=12))
        for alert in seen.filter(rule__in=CLEARED):
            close(alert=alert, who=boss, why=CLEARED[alert.rule], now=now)
        for alert in seen.filter(rule="schedule-changed-after-set", acknowledged_at=None):
            acknowledge(alert=alert, who=boss, now=now)
