"""The address that takes check-ins: its envelope, who may use it, and what it costs."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import CheckIn, Progress
from inspections.services.check_ins import MOST_ITEMS
from openings.models import DirtyOpening, Site
from sitetrack.access.services.enrolment import revoke_device
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db
PUSH = "/api/v1/sync/push"


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def phone(clinic: Site) -> b.APIClient:
    return b.client(token=b.device(clinic, b.crew(clinic))[1])


def test_a_push_answers_each_item_by_the_contract(phone: b.APIClient, clinic: Site) -> None:
    item = b.push_item(b.opening(clinic))
    response = phone.post(PUSH, b.batch(item))
    assert response.status_code == 200
    assert response.json() == {"results": [{"id": item["id"], "outcome": "stored", "verdict": None, "problem": None}]}


def test_what_was_pushed_is_worked_out_when_the_answer_comes(phone: b.APIClient, clinic: Site) -> None:
    opening = b.opening(clinic)
    phone.post(PUSH, b.batch(b.push_item(opening)))
    assert Progress.objects.get(pk=opening.pk).state["stages"]["receive"]["state"] == "done"
    assert not DirtyOpening.objects.exists()
    shown = phone.get(f"/api/v1/openings/{opening.pk}").json()["progress"]
    assert shown["states"]["receive"] == "done"
    assert "frame_crew" in {shown["next_trade"], *shown["other_trades"]}


def test_a_person_signed_in_may_push_with_the_page_s_own_proof(clinic: Site) -> None:
    item = b.push_item(b.opening(clinic))
    page = b.APIClient(enforce_csrf_checks=True)
    page.force_login(b.supervisor(clinic))
    check_problem(page.post(PUSH, b.batch(item)), 403)
    secret = "a" * 32
    page.cookies["csrftoken"] = secret
    answer = page.post(PUSH, b.batch(item), HTTP_X_CSRFTOKEN=secret)
    assert answer.json()["results"][0]["outcome"] == "stored"
    assert CheckIn.objects.get().device is None


def test_without_a_name_nothing_is_taken(clinic: Site) -> None:
    check_problem(b.client().post(PUSH, b.batch(b.push_item(b.opening(clinic)))), 401)


def test_a_revoked_phone_is_told_to_enrol_again(clinic: Site) -> None:
    device, token = b.device(clinic, b.crew(clinic))
    revoke_device(device=device, who=b.supervisor(clinic), now=b.MONDAY)
    refused = check_problem(b.client(token=token).post(PUSH, b.batch(b.push_item(b.opening(clinic)))), 401)
    assert "Enrol" in refused["detail"]


@pytest.mark.parametrize(
    "body",
    [
        None, [], "x", {}, {"check_ins": None}, {"check_ins": {}}, {"check_ins": "x"},
        {"device_time": "yesterday", "check_ins": []}, {"device_time": 5, "check_ins": []},
    ],
)  # fmt: skip
def test_an_envelope_that_is_none_is_refused_whole(phone: b.APIClient, body: Any) -> None:
    check_problem(phone.post(PUSH, body), 422, "bad-input")


def test_a_batch_over_the_bound_is_refused_whole(phone: b.APIClient, clinic: Site) -> None:
    items = [b.push_item(b.opening(clinic))] * (MOST_ITEMS + 1)
    check_problem(phone.post(PUSH, b.batch(*items)), 413, "too-large")
    assert not CheckIn.objects.exists()


def test_a_batch_without_its_clock_is_taken_as_on_time(phone: b.APIClient, clinic: Site) -> None:
    item = b.push_item(b.opening(clinic))
    phone.post(PUSH, {"check_ins": [item]})
    assert CheckIn.objects.get().corrected_at == b.MONDAY


def push_cost(site: Site, size: int) -> int:
    """Queries of the push alone, working out apart, since that is by opening."""
    openings = b.openings(site, 10)
    items = [b.push_item(openings[n % 10], action="note", note=str(n), counter=n) for n in range(size)]
    api = b.client(token=b.device(site, b.crew(site))[1])
    with CaptureQueriesContext(connection) as queries:
        response = api.post(PUSH, b.batch(*items))
    assert {r["outcome"] for r in response.json()["results"]} == {"stored"}
    return len(queries)


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite bounds the values of one statement")
def test_a_push_of_500_costs_the_queries_of_a_push_of_10_on_postgresql() -> None:
    push_cost(b.site(), 10)  # the plan and the profile are read once in a process
    assert push_cost(b.site(), 500) == push_cost(b.site(), 10)


def test_a_push_costs_a_bounded_number_of_queries_anywhere() -> None:
    """On SQLite a statement takes 999 values, so a bulk insert of 500 rows is cut in slices; nothing else grows."""
    small, large = push_cost(b.site(), 10), push_cost(b.site(), 500)
    slices = 500 // (999 // len(CheckIn._meta.local_concrete_fields)) + 1
    assert large - small <= slices + 1
