"""When too many come at once: told to wait, for a time with chance in it, and nothing is lost."""

from typing import Any

import pytest
from django.core.cache import cache
from redis.exceptions import ConnectionError as NoRedis

from inspections.api import throttles
from inspections.api.throttles import Rate
from inspections.models import CheckIn
from openings.models import Site
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic() -> Site:
    return b.site("clinic")


@pytest.fixture(autouse=True)
def _one_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every request in the same second, so that no window ends in the middle of a test."""
    monkeypatch.setattr(throttles, "now", lambda: b.MONDAY)


def phone(site: Site, kind: str = "phone") -> Any:
    _, token = b.device(site, b.crew(site), kind=kind)
    return b.client(token=token)


def push(api: Any, *items: Any) -> Any:
    return api.post("/api/v1/sync/push", b.batch(*items))


def test_one_phone_that_sends_without_pause_is_asked_to_wait(clinic: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(throttles, "ONE_PHONE", Rate(3, 60))
    greedy, other, opening = phone(clinic), phone(clinic), b.opening(clinic)
    assert [push(greedy).status_code for _ in range(3)] == [200] * 3
    answer = push(greedy, b.push_item(opening))
    check_problem(answer, 429)
    assert 1 <= int(answer["Retry-After"]) <= 120
    assert not CheckIn.objects.exists(), "not looked at, so the phone keeps it"
    assert push(other, b.push_item(opening)).status_code == 200
    check_problem(greedy.get(f"/api/v1/sync/pull?site={clinic.pk}"), 429)


def test_after_the_wait_it_goes_on(clinic: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(throttles, "ONE_PHONE", Rate(1, 60))
    api = phone(clinic)
    assert [push(api).status_code for _ in range(2)] == [200, 429]
    monkeypatch.setattr(throttles, "now", lambda: b.MONDAY + b.MINUTE)
    assert push(api).status_code == 200


def test_a_crowd_is_not_sent_back_to_the_same_second(clinic: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(throttles, "ALL_PHONES_OF_A_SITE", Rate(5, 60))
    answers = [push(phone(clinic)) for _ in range(45)]
    assert [a.status_code for a in answers].count(200) == 5
    waits = [int(a["Retry-After"]) for a in answers if a.status_code == 429]
    assert len(waits) == 40
    assert len(set(waits)) > 10
    assert push(phone(b.site())).status_code == 200, "another site's phones are not its crowd"


def test_a_program_that_loads_much_is_no_crowd_of_phones(clinic: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(throttles, "ALL_PHONES_OF_A_SITE", Rate(1, 60))
    monkeypatch.setattr(throttles, "ONE_PHONE", Rate(1, 60))
    program = phone(clinic, kind="program")
    assert [push(program).status_code for _ in range(5)] == [200] * 5


def test_a_cache_that_is_away_turns_nobody_away(clinic: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    def away(*_: Any, **__: Any) -> None:
        raise NoRedis("refused")

    monkeypatch.setattr(cache, "add", away)
    assert push(phone(clinic), b.push_item(b.opening(clinic))).json()["results"][0]["outcome"] == "stored"


def test_the_usual_rates_leave_room_for_a_phone_with_a_month_of_reports(clinic: Site) -> None:
    # A hundred reports a batch, 4,000 reports, and a pull and forty photos besides.
    assert throttles.ONE_PHONE.most >= 40 + 40 + 20
    api = phone(clinic)
    assert {push(api).status_code for _ in range(100)} == {200}
