"""A hundred phones leave the night's dead spot in the same second, each with a backlog."""

import threading
import time

import pytest

from tests import builders as b
from tests.services.conftest import Processes
from tests.services.phones import Phone, all_answers, stored_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
PHONES, BATCHES, ITEMS = 100, 2, 20
CROWD_MOST = 60  # what a small machine answers in ten seconds


class Waking(Phone):
    """Sends what it gathered overnight, one batch after another, when the gate opens."""

    def __init__(self, gate: threading.Barrier, *given, **more):
        super().__init__(*given, **more)
        self.gate = gate
        self.took = 0.0

    def run(self):
        backlog = [self.make_batch() for _ in range(BATCHES)]
        self.gate.wait()
        began = time.monotonic()
        for batch in backlog:
            self.send(batch)
        self.took = time.monotonic() - began


def test_a_hundred_phones_after_a_night_are_all_heard(processes: Processes):
    site = b.site()
    openings = b.openings(site, 20)
    processes.environment["CROWD_MOST"] = str(CROWD_MOST)
    processes.start_web()
    gate, never = threading.Barrier(PHONES), threading.Event()
    phones = [
        Waking(gate, processes, b.device(site, b.crew(site))[1], openings, never, batch=ITEMS) for _ in range(PHONES)
    ]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join(timeout=300)
        assert not phone.is_alive()
    answers = all_answers(phones)
    assert set(answers) == {"200", "429"}, answers
    for phone in phones:
        for status, after, problem in phone.turned_away:
            assert status == 429
            assert int(after) >= 1, "told when to come back"
            assert problem["status"] == 429
    assert stored_once(phones) == PHONES * BATCHES * ITEMS
    took = sorted(phone.took for phone in phones)
    print(
        f"\n{PHONES} phones at once, {BATCHES} batches of {ITEMS} each: {PHONES * BATCHES * ITEMS} check-ins stored, "
        f"0 lost; answered {dict(answers)}; a phone was done after {took[len(took) // 2]:.1f} s (middle), "
        f"{took[-1]:.1f} s (last); "
        f"longest for one batch {max(p.longest for p in phones):.1f} s"
    )
