"""Web and worker killed twenty times while phones send: nothing believed sent is missing, nothing counts twice."""

import random
import time

import pytest

from inspections.models import Progress
from inspections.services.cases import work_out_cases
from openings.models import DirtyOpening
from tests import builders as b
from tests.services.conftest import Processes, wait_for
from tests.services.phones import at_work, rest, stored_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
KILLS = 20


def test_nothing_is_lost_or_doubled_when_web_and_worker_are_killed_under_load(processes: Processes):
    openings = b.openings(b.site(), 6)
    processes.start_web()
    processes.start_worker(beat=True)
    phones, stop = at_work(processes, openings, 4)
    began = time.monotonic()
    for kill in range(KILLS):
        time.sleep(random.random())
        if kill % 2:
            processes.kill("worker")
            processes.start_worker(beat=True)
        else:
            processes.kill("web")
            processes.start_web()
    rest(phones, stop)
    under_load = time.monotonic() - began
    right_again = wait_for("the last opening", lambda: not DirtyOpening.objects.exists(), seconds=90)

    stored = stored_once(phones)
    for worked in work_out_cases([o.pk for o in openings]):
        assert Progress.objects.get(pk=worked.opening.pk).state == worked.state.to_dict()
    print(
        f"\n{KILLS} kills in {under_load:.0f} s: {stored} check-ins from {len(phones)} phones in "
        f"{sum(p.tries for p in phones)} tries, {sum(p.outcomes['known'] for p in phones)} answered as known, "
        f"0 lost, 0 doubled; all worked out {right_again:.1f} s after the last"
    )
