"""Real PostgreSQL, Redis, web and worker: what was stored is worked out, whatever is killed between."""

from datetime import timedelta

import pytest
import redis

from inspections.models import Alert, CheckIn, Progress
from openings.models import DirtyOpening
from sitetrack.kit.clock import now
from tests import builders as b
from tests.services.conftest import Processes, wait_for

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def a_phone_and_its_opening():
    site = b.site()
    opening = b.opening(site)
    hand = b.crew(site)
    _, token = b.device(site, hand)
    return opening, token


def done(opening, stage):
    progress = Progress.objects.filter(opening=opening).first()
    return bool(progress and progress.state and progress.state["stages"][stage]["state"] == "done")


def receive(opening):
    moment = now()
    item = b.push_item(opening, happened_at=b.rfc3339(moment - timedelta(minutes=5)), counter=1)
    return b.batch(item, device_time=moment)


def test_a_worker_works_out_what_a_phone_pushed(processes: Processes):
    opening, token = a_phone_and_its_opening()
    processes.start_worker()
    processes.start_web()
    assert [r["outcome"] for r in processes.push(token, receive(opening))] == ["stored"]
    wait_for("the received frame", lambda: done(opening, "receive"))
    assert not DirtyOpening.objects.exists()


def test_the_sweep_finishes_what_a_killed_worker_and_a_lost_message_left(processes: Processes):
    opening, token = a_phone_and_its_opening()
    processes.start_web()
    processes.start_worker()
    processes.kill("worker")
    assert processes.push(token, receive(opening))[0]["outcome"] == "stored"
    redis.Redis.from_url(processes.environment["REDIS_URL"]).flushdb()  # the message is gone for good
    assert not done(opening, "receive")
    assert DirtyOpening.objects.filter(opening=opening).exists()
    processes.start_worker(beat=True)
    wait_for("the sweep", lambda: done(opening, "receive"), seconds=60)
    assert CheckIn.objects.count() == 1


def test_a_push_is_answered_while_the_broker_is_away(processes: Processes):
    opening, token = a_phone_and_its_opening()
    processes.environment["REDIS_URL"] = "redis://127.0.0.1:1/0"  # nobody listens there
    processes.start_web()
    assert processes.push(token, receive(opening))[0]["outcome"] == "stored"
    assert DirtyOpening.objects.filter(opening=opening).exists()
    assert Alert.objects.count() == 0
