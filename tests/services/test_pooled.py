"""Behind a pooler that lends a connection for one transaction: many more processes than connections, nothing lost."""

from collections.abc import Iterator
from urllib.request import Request, urlopen

import pytest
from django.db import connection

from openings.models import DirtyOpening
from tests import builders as b
from tests.services.conftest import Processes, wait_for
from tests.services.own_servers import OwnPooler
from tests.services.phones import all_answers, at_work, rest, stored_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
CONNECTIONS, PHONES = 3, 12


@pytest.fixture
def pooled(processes: Processes) -> Iterator[Processes]:
    """Web and worker reach the data base through the pooler only."""
    db = connection.settings_dict
    pooler = OwnPooler(host=db["HOST"], port=db["PORT"] or 5432, user=db["USER"], connections=CONNECTIONS)
    url = processes.environment["DATABASE_URL"]
    processes.environment |= {
        "DATABASE_URL": url.replace(f":{db['PORT']}/", f":{pooler.port}/"),
        "DATABASE_POOLED": "1",
    }
    yield processes
    for name in list(processes.running):
        processes.kill(name)
    pooler.remove()


def connections_of_the_pooler() -> int:
    """How many the data base has besides our own."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
        return int(cursor.fetchone()[0])


def test_many_processes_share_a_few_connections_and_lose_nothing(pooled: Processes):
    openings = b.openings(b.site(), 12)
    pooled.start_web()
    pooled.start_worker()
    phones, stop = at_work(pooled, openings, PHONES, pace=0.05)
    most = 0

    def enough() -> bool:
        nonlocal most
        most = max(most, connections_of_the_pooler())
        return all(phone.answers["200"] >= 5 for phone in phones)

    wait_for("five batches of every phone", enough, 120)
    rest(phones, stop)
    assert set(all_answers(phones)) == {"200"}
    stored = stored_once(phones)
    wait_for("all worked out", lambda: not DirtyOpening.objects.exists(), 120)
    assert most <= CONNECTIONS, f"{most} connections"
    print(f"\n{PHONES} phones, 2 processes of 8 threads and 2 workers over {most} connections: {stored} stored, 0 lost")


def test_what_is_streamed_row_by_row_comes_whole(pooled: Processes):
    """A list and a load that read their rows by parts, which a pooler may not cut."""
    site = b.site()
    b.openings(site, 30)
    token = b.device(site, b.crew(site))[1]
    pooled.start_web()
    for path in (f"/api/v1/sync/pull?site={site.pk}", "/api/v1/openings?page_size=5"):
        asked = Request(f"{pooled.base}{path}", headers={"Authorization": f"Bearer {token}"})
        with urlopen(asked, timeout=30) as answer:
            assert answer.status == 200
            assert b"1" in answer.read()
