"""A page of the API costs the same number of queries whether it shows 3 rows or 30."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import Webhook
from inspections.services.profiles import set_profile
from inspections.services.webhooks import owe_test
from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.api_urls import RESOURCES
from sitetrack.reports.models import Forecast, WeeklyStatus
from tests import builders as b

pytestmark = pytest.mark.django_db
NOT_FOR_CREWS = {"reports", "forecasts", "webhooks", "webhook-messages"}


def fill(site: Site, hand: Person, signer: Person, count: int) -> None:
    """So many rows in every list of a site."""
    openings = [b.opening(site, on=b.floor(site, f"L{n}", in_building=f"B{n}")) for n in range(count)]
    readings = [
        b.report(o, "trueness", readings=b.TRUE_READINGS, answers=b.TRUENESS_ANSWERS, at=b.MONDAY) for o in openings
    ]
    holds = [b.report(o, "set", "hold", note="wait", photos=("ab" * 32,)) for o in openings]
    b.record(hand, *readings, *holds, *(b.report(o, "polish") for o in openings), of=site)
    b.record(
        signer, *(b.report(o, "trueness", "sign", about=r.id) for o, r in zip(openings, readings, strict=True)), of=site
    )
    for n, o in enumerate(openings, 2):
        set_profile(site=site, changes={"max_swing": 90 + n}, who=b.supervisor(site), now=b.MONDAY)
        b.alert(o)
        b.device(site, hand)
        b.muted(o)
        hook = Webhook.objects.create(
            site=site, url="https://hooks.example/", events=[], made_at=b.MONDAY, made_by=b.supervisor(site)
        )
        owe_test(webhook=hook, who=b.supervisor(site), now=b.MONDAY)
        week = {"iso_week": f"2026-W{n:02}", "cut_off": b.MONDAY, "made_at": b.MONDAY, "digest": "ab" * 32}
        WeeklyStatus.objects.create(site=site, files={"xlsx": {"name": "x", "bytes": 1, "sha256": "cd" * 32}}, **week)
        Forecast.objects.create(site=site, as_of=b.MONDAY.date(), made_at=b.MONDAY, digest=f"{n:064x}", told={})


def count_and_rows(api: Any, address: str) -> tuple[int, int]:
    with CaptureQueriesContext(
        connection,
    ) as queries:
        response = api.get(address)
    assert response.status_code == 200, response.content
    return len(queries), len(response.json()["results"])


@pytest.mark.parametrize("role", ["supervisor", "crew"])
def test_lists_cost_the_same_for_3_rows_and_for_30(role: str) -> None:
    costs: dict[int, dict[str, int]] = {}
    for size in (3, 30):
        site = b.site()
        hand, signer = b.crew(site), b.inspector(site)
        fill(site, hand, signer, size)
        api = b.client(hand if role == "crew" else b.supervisor(site))
        costs[size] = {}
        api.get("/api/v1/me")  # the first question of a session is noted in it
        for resource in RESOURCES:
            queries, rows = count_and_rows(api, f"/api/v1/{resource}")
            nothing_for_crews = role == "crew" and resource in NOT_FOR_CREWS
            assert rows >= size or resource == "sites" or nothing_for_crews, (resource, rows)
            costs[size][resource] = queries
    assert costs[3] == costs[30]
    assert max(costs[30].values()) <= 6, costs[30]
