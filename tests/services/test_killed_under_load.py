"""Web and worker killed twenty times while phones send: nothing believed sent is missing, nothing counts twice."""

import json
import random
import threading
import time
from datetime import timedelta
from http.client import HTTPException
from urllib.error import HTTPError, URLError

import pytest

from inspections.models import CheckIn, Progress
from inspections.services.cases import work_out_cases
from openings.models import DirtyOpening
from sitetrack.kit.clock import now, rfc3339
from tests import builders as b
from tests.services.conftest import Processes, wait_for

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
KILLS = 20
PHONES = 4
BATCH = 5


class Phone(threading.Thread):
    """Sends batch after batch; what is not answered is sent again, byte for byte, until it is."""

    def __init__(self, processes, token, openings, stop):
        super().__init__(daemon=True)
        self.processes, self.token, self.openings, self.stop = processes, token, openings, stop
        self.believed: set[str] = set()
        self.outcomes: dict[str, int] = {}
        self.counter = self.tries = 0

    def run(self):
        while not self.stop.is_set():
            batch = self._batch()
            while True:
                self.tries += 1
                try:
                    results = self.processes.push(self.token, batch)
                    break
                except HTTPError as answer:
                    if answer.code < 500 and answer.code != 429:
                        raise
                except (URLError, HTTPException, ConnectionError, TimeoutError, json.JSONDecodeError):
                    pass
                time.sleep(0.05 + random.random() * 0.2)
            for result in results:
                self.outcomes[result["outcome"]] = self.outcomes.get(result["outcome"], 0) + 1
                if result["outcome"] in {"stored", "known"}:
                    self.believed.add(result["id"])

    def _batch(self):
        moment = now()
        items = []
        for _ in range(BATCH):
            self.counter += 1
            items.append(
                b.push_item(
                    random.choice(self.openings),
                    "receive",
                    random.choice(["start", "finish", "note"]),
                    happened_at=rfc3339(moment - timedelta(seconds=1)),
                    counter=self.counter,
                )
            )
        return b.batch(*items, device_time=moment)


def test_nothing_is_lost_or_doubled_when_web_and_worker_are_killed_under_load(processes: Processes):
    site = b.site()
    openings = b.openings(site, 6)
    stop = threading.Event()
    phones = []
    processes.start_web()
    processes.start_worker(beat=True)
    for _ in range(PHONES):
        hand = b.crew(site)
        phones.append(Phone(processes, b.device(site, hand)[1], openings, stop))
    for phone in phones:
        phone.start()
    began = time.monotonic()
    for kill in range(KILLS):
        time.sleep(random.random())
        if kill % 2:
            processes.kill("worker")
            processes.start_worker(beat=True)
        else:
            processes.kill("web")
            processes.start_web()
    stop.set()
    for phone in phones:
        phone.join(timeout=30)
        assert not phone.is_alive()
    under_load = time.monotonic() - began
    right_again = wait_for("the last opening", lambda: not DirtyOpening.objects.exists(), seconds=90)

    believed = set().union(*(phone.believed for phone in phones))
    stored = [str(pk) for pk in CheckIn.objects.values_list("pk", flat=True)]
    assert believed == set(stored)
    assert len(stored) == sum(phone.counter for phone in phones)
    for worked in work_out_cases([o.pk for o in openings]):
        assert Progress.objects.get(pk=worked.opening.pk).state == worked.state.to_dict()
    print(
        f"\n{KILLS} kills in {under_load:.0f} s: {len(stored)} check-ins from {PHONES} phones in "
        f"{sum(p.tries for p in phones)} tries, {sum(p.outcomes.get('known', 0) for p in phones)} answered as known, "
        f"0 lost, 0 doubled; all worked out {right_again:.1f} s after the last"
    )
