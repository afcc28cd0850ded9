"""The data base or the broker goes away under load and comes back: nothing is lost, nobody sees a fault of ours."""

import threading
import time
from collections import Counter
from collections.abc import Iterator
from http.client import HTTPException
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client

from openings.models import DirtyOpening
from tests import builders as b
from tests.services.conftest import Processes, wait_for
from tests.services.own_servers import OwnPostgres, OwnRedis
from tests.services.phones import all_answers, at_work, rest, stored_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def postgres(processes: Processes) -> Iterator[OwnPostgres]:
    """The processes and the test both use a cluster of the test's own."""
    own = OwnPostgres()
    before = dict(connection.settings_dict)
    try:
        own.copy_of(processes.environment["DATABASE_URL"])
        connection.close()
        connection.settings_dict |= {
            "HOST": "127.0.0.1", "PORT": own.port, "USER": "postgres", "NAME": "postgres", "PASSWORD": "",
        }  # fmt: skip
        processes.environment["DATABASE_URL"] = f"postgres://postgres@127.0.0.1:{own.port}/postgres"
        yield own
    finally:
        for name in list(processes.running):
            processes.kill(name)
        connection.close()
        connection.settings_dict |= before
        own.remove()


@pytest.fixture
def broker(processes: Processes) -> Iterator[OwnRedis]:
    """The processes use a Redis of the test's own."""
    own = OwnRedis()
    processes.environment["REDIS_URL"] = own.url
    yield own
    for name in list(processes.running):
        processes.kill(name)
    own.kill()


class Looker(threading.Thread):
    """A supervisor who opens the same page over and over."""

    def __init__(self, address: str, cookie: str, stop: threading.Event) -> None:
        super().__init__(daemon=True)
        self.asked = Request(address, headers={"Cookie": cookie})
        self.stop = stop
        self.answers: Counter[str] = Counter()
        self.turned_away: list[tuple[str, str]] = []

    def run(self) -> None:
        while not self.stop.wait(0.3):
            try:
                with urlopen(self.asked, timeout=30) as answer:
                    self.answers[str(answer.status)] += 1
            except HTTPError as answer:
                self.answers[str(answer.code)] += 1
                self.turned_away.append((answer.headers.get("Retry-After", ""), answer.read().decode()))
            except (URLError, HTTPException, OSError) as error:
                self.answers[type(error).__name__] += 1


def test_postgresql_is_restarted_and_crashes_under_load(processes: Processes, postgres: OwnPostgres):
    site = b.site()
    openings = b.openings(site, 6)
    processes.environment["SECRET_KEY"] = settings.SECRET_KEY  # the session is made here and read there
    page = Client()
    page.force_login(b.supervisor(site))
    processes.start_web()
    processes.start_worker(beat=True)
    phones, stop = at_work(processes, openings, 4, pace=0.2)
    looker = Looker(f"{processes.base}/s/{site.code}/alerts", f"sessionid={page.cookies['sessionid'].value}", stop)
    looker.start()
    away = []
    for mode in ("fast", "immediate", "fast"):
        time.sleep(3)
        began = time.monotonic()
        postgres.stop(mode)
        time.sleep(3)
        postgres.start()
        away.append(time.monotonic() - began)
    back = time.monotonic()
    connection.close()
    asked = sum(phone.answers["200"] for phone in phones)
    wait_for("a push that is taken", lambda: sum(phone.answers["200"] for phone in phones) > asked)
    pushed = time.monotonic() - back
    rest(phones, stop)
    looker.join(timeout=30)
    right_again = wait_for("the last opening", lambda: not DirtyOpening.objects.exists(), seconds=120)

    answers = all_answers(phones)
    assert set(answers) == {"200", "503"}, answers
    for phone in phones:
        for status, after, problem in phone.turned_away:
            assert (status, problem.get("type")) == (503, "/problems/try-again")
            assert 3 <= int(after) <= 10
    assert set(looker.answers) == {"200", "503"}, looker.answers
    for after, said in looker.turned_away:
        assert int(after) >= 3
        assert "Not just now" in said
        assert "Traceback" not in said
    print(
        f"\nPostgreSQL away 3 times for {max(away):.1f} s at most (2 restarts, 1 crash): {stored_once(phones)} "
        f"check-ins from {len(phones)} phones, 0 lost, 0 doubled; pushes answered {dict(answers)}, "
        f"pages {dict(looker.answers)}; "
        f"a push taken {pushed:.1f} s after it was back, all worked out {right_again:.1f} s after the last"
    )


def test_redis_is_killed_under_load_and_comes_back_empty(processes: Processes, broker: OwnRedis):
    openings = b.openings(b.site(), 6)
    processes.start_web()
    processes.start_worker(beat=True)
    phones, stop = at_work(processes, openings, 4, pace=0.3)
    time.sleep(3)
    before = max(phone.longest for phone in phones)
    broker.kill()
    time.sleep(10)
    broker.start()
    time.sleep(2)
    rest(phones, stop)
    right_again = wait_for("the last opening", lambda: not DirtyOpening.objects.exists(), seconds=120)
    answers = all_answers(phones)
    assert set(answers) == {"200"}, answers
    print(
        f"\nRedis away 10 s: {stored_once(phones)} check-ins in {answers['200']} pushes, 0 failed, 0 lost; the longest "
        f"push {max(phone.longest for phone in phones):.2f} s ({before:.2f} s before); "
        f"all worked out {right_again:.1f} s after the last"
    )
