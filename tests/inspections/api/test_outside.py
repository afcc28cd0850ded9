"""Mutes and webhooks over the API: made, listed, ended; and an alert taken back by who closed it."""

from typing import Any

import pytest

from inspections.models import Mute, Webhook, WebhookMessage
from openings.models import Opening, Site
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db
SOON = b.read_clock() + b.DAY


@pytest.fixture
def job() -> Site:
    return b.site()


@pytest.fixture
def opening(job: Site) -> Opening:
    return b.opening(job, wall=b.wall(job, "W7"))


@pytest.fixture
def api(job: Site) -> b.APIClient:
    return b.client(b.supervisor(job))


def asked(job: Site, **more: Any) -> dict[str, Any]:
    given = {"site": job.pk, "rule": "order-uncertain", "until": b.rfc3339(SOON), "reason": "known", **more}
    return {name: str(value) for name, value in given.items() if value is not None}


def test_a_rule_is_muted_on_a_floor_at_an_opening_or_in_a_type_of_wall(
    api: b.APIClient, job: Site, opening: Opening
) -> None:
    for area in ({"floor": opening.floor_id}, {"opening": opening.pk}, {"wall": "W7"}):
        answer = api.post("/api/v1/mutes", asked(job, **area))
        assert answer.status_code == 201, answer.content
        (name, value) = area.popitem()
        assert answer.json()[name] == str(value)
    alert = b.alert(opening, "order-uncertain", severity="notice")
    assert [row["id"] for row in api.get("/api/v1/alerts?muted=true").json()["results"]] == [str(alert.pk)]
    for mute in api.get("/api/v1/mutes?holding=true").json()["results"]:
        assert api.post(f"/api/v1/mutes/{mute['id']}/lift").json()["lifted_at"]
    assert api.get("/api/v1/mutes?holding=true").json()["results"] == []
    assert len(api.get("/api/v1/mutes?holding=false").json()["results"]) == 3
    assert api.get("/api/v1/alerts?muted=true").json()["results"] == []


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({}, "floor"),
        ({"wall": "W7", "floor": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910213"}, "floor"),
        ({"floor": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910213"}, "floor"),
        ({"wall": "W99"}, "wall"),
        ({"wall": "W7", "until": "tomorrow"}, "until"),
        ({"wall": "W7", "until": "2026-03-02T14:00:00"}, "until"),
        ({"wall": "W7", "until": "2026-03-02T14:00:00Z"}, "until"),
        ({"wall": "W7", "rule": "anything"}, "rule"),
        ({"wall": "W7", "reason": None}, "reason"),
    ],
)
def test_what_cannot_be_muted_is_refused_and_named(
    api: b.APIClient, job: Site, opening: Opening, wrong: dict[str, Any], field: str
) -> None:
    refused = check_problem(api.post("/api/v1/mutes", asked(job, **wrong)), 422, "bad-input")
    assert refused["errors"][0]["field"] == field
    assert not Mute.objects.exists()


def test_a_part_of_another_site_is_not_muted_through_ones_own(api: b.APIClient, job: Site) -> None:
    foreign = b.opening(b.site())
    check_problem(api.post("/api/v1/mutes", asked(job, opening=foreign.pk)), 422, "bad-input")
    check_problem(api.post("/api/v1/mutes", asked(foreign.site, opening=foreign.pk)), 404, "not-found")


def test_a_webhook_shows_its_secret_when_made_and_when_made_anew_and_never_else(api: b.APIClient, job: Site) -> None:
    wish = {"site": str(job.pk), "url": "https://hooks.example/frames", "events": ["alert.raised"]}
    made = api.post("/api/v1/webhooks", wish)
    assert (made.status_code, made["Cache-Control"]) == (201, "no-store")
    first, key = made.json()["secret"], made.json()["webhook"]["id"]
    again = api.post(f"/api/v1/webhooks/{key}/rotate")
    assert again["Cache-Control"] == "no-store"
    assert again.json()["secret"].startswith("whsec_")
    assert again.json()["secret"] != first
    shown = api.get("/api/v1/webhooks").content + api.get(f"/api/v1/webhooks/{key}").content
    assert b"whsec_" not in shown
    assert api.post(f"/api/v1/webhooks/{key}/stop").json()["stopped_at"]
    check_problem(api.post(f"/api/v1/webhooks/{key}/test"), 409)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"url": "http://hooks.example/"}, "url"), ({"url": ""}, "url"), ({"events": []}, "events"),
     ({"events": ["test"]}, "events")],
)  # fmt: skip
def test_an_address_that_cannot_be_told_is_refused_and_named(
    api: b.APIClient, job: Site, wrong: dict[str, Any], field: str
) -> None:
    wish = {"site": str(job.pk), "url": "https://hooks.example/", "events": ["alert.raised"], **wrong}
    refused = check_problem(api.post("/api/v1/webhooks", wish), 422, "bad-input")
    assert refused["errors"][0]["field"].partition(".")[0] == field
    assert not Webhook.objects.exists()


def test_what_became_of_a_message_is_listed_and_it_is_sent_again(
    api: b.APIClient, job: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The name leads inside, so that nothing leaves this machine and the refusal is the outcome."""
    monkeypatch.setattr("sitetrack.kit.posting.socket.getaddrinfo", lambda *a, **k: [(0, 0, 0, "", ("10.0.0.1", 443))])
    hook, message = b.webhook(job)
    WebhookMessage.objects.filter(pk=message.pk).update(state="failed", error="answered 500")
    failed = api.get(f"/api/v1/webhook-messages?state=failed&webhook={hook.pk}").json()["results"]
    assert [row["id"] for row in failed] == [str(message.pk)]
    sent = api.post(f"/api/v1/webhook-messages/{message.pk}/again").json()
    assert (sent["state"], sent["tries"]) == ("waiting", 1)
    assert "not public" in sent["error"]
    assert "not public" in api.post(f"/api/v1/webhooks/{hook.pk}/test").json()["error"]


def test_whoever_closed_an_alert_by_mistake_takes_it_back_and_nobody_else(
    api: b.APIClient, job: Site, opening: Opening
) -> None:
    address = f"/api/v1/alerts/{b.alert(opening).pk}"
    api.post(f"{address}/close", {"why": "Board off."})
    check_problem(b.client(b.inspector(job)).post(f"{address}/reopen"), 409)
    answer = api.post(f"{address}/reopen")
    assert answer.status_code == 200, answer.content
    check_problem(api.post(f"{address}/reopen"), 409)
