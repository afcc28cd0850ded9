"""Webhooks reach a real receiver, signed as the scheme's own library (standardwebhooks) expects, and nobody else."""

import ipaddress
import json
import time
from datetime import timedelta
from typing import Any

import pytest
from standardwebhooks import Webhook as Verifier
from standardwebhooks import WebhookVerificationError

from inspections.models import Alert, Webhook, WebhookMessage
from inspections.services.alerts import close
from inspections.services.posting_webhooks import post_due, webhooks_due
from inspections.services.webhooks import add_webhook, owe_test, rotate_secret, send_message_again
from openings.models import Site
from sitetrack.access.roles import Trade
from sitetrack.kit import posting
from sitetrack.kit.backoff import GIVE_UP_AFTER
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.problems import BadInput, Forbidden
from tests import builders as make
from tests.receiver import Receiver

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Site:
    return make.site()


@pytest.fixture
def hook(job: Site, receiver: Receiver) -> tuple[Webhook, str]:
    events = ["alert.raised", "alert.closed", "snapshot.made"]
    return add_webhook(site=job, url=receiver.url, events=events, who=make.supervisor(job), now=read_clock())


def test_a_message_is_what_the_schemes_own_library_verifies(hook: tuple[Webhook, str], receiver: Receiver) -> None:
    webhook, secret = hook
    at = read_clock()
    owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    assert webhooks_due(now=at) == [webhook.pk]
    assert post_due(webhook_id=webhook.pk, now=at) == 1
    ((headers, body),) = receiver.came
    told = Verifier(secret).verify(body, headers)
    assert (told["type"], told["id"], set(told)) == ("test", headers["webhook-id"], {"id", "type", "timestamp", "data"})
    with pytest.raises(WebhookVerificationError):
        Verifier(secret).verify(body.replace(b"test", b"tost"), headers)
    assert webhooks_due(now=at) == []


def test_what_is_sent_outside_the_window_is_refused_by_the_library(
    hook: tuple[Webhook, str], receiver: Receiver
) -> None:
    webhook, secret = hook
    at = read_clock() - timedelta(minutes=10)
    owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    post_due(webhook_id=webhook.pk, now=at)
    ((headers, body),) = receiver.came
    with pytest.raises(WebhookVerificationError, match="too old"):
        Verifier(secret).verify(body, headers)


def test_both_secrets_are_valid_for_a_while_after_a_new_one(hook: tuple[Webhook, str], receiver: Receiver) -> None:
    webhook, old = hook
    at = read_clock()
    new = rotate_secret(webhook=webhook, who=make.supervisor(webhook.site), now=at - timedelta(days=4))
    newest = rotate_secret(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    post_due(webhook_id=webhook.pk, now=at)
    ((headers, body),) = receiver.came
    for secret in (new, newest):
        Verifier(secret).verify(body, headers)
    with pytest.raises(WebhookVerificationError):
        Verifier(old).verify(body, headers)


def test_an_alert_raised_and_closed_is_told_and_names_nobody(
    job: Site, hook: tuple[Webhook, str], receiver: Receiver
) -> None:
    opening = make.opening(job)
    at = make.work_up_to(opening, "anchor")
    drywall = make.crew(job, Trade.DRYWALL)
    make.check_in(drywall, opening, "board", "start", at=at + timedelta(hours=1))
    alert = Alert.objects.get(opening=opening, rule="boarded-before-checked")
    close(alert=alert, who=make.supervisor(job), why="Board off.", now=at + timedelta(hours=2))
    post_due(webhook_id=hook[0].pk, now=read_clock())
    told = [json.loads(body) for _, body in receiver.came]
    about = [each for each in told if each["data"]["alert"] == str(alert.pk)]
    assert [each["type"] for each in about] == ["alert.raised", "alert.closed"]
    assert about[0]["data"]["opening"] == opening.number
    assert str(drywall.pk) not in json.dumps(told)


def test_a_failing_receiver_is_tried_later_and_given_up_after_days(
    hook: tuple[Webhook, str], receiver: Receiver
) -> None:
    webhook, _ = hook
    receiver.status = 500
    at = read_clock()
    owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    post_due(webhook_id=webhook.pk, now=at)
    message = WebhookMessage.objects.get()
    assert (message.state, message.status, message.next_try_at > at) == ("waiting", 500, True)
    assert post_due(webhook_id=webhook.pk, now=at) == 0
    post_due(webhook_id=webhook.pk, now=at + GIVE_UP_AFTER)
    message.refresh_from_db()
    assert (message.state, message.error) == ("failed", "answered 500")
    receiver.status = 200
    send_message_again(message=message, who=make.supervisor(webhook.site), now=at + GIVE_UP_AFTER)
    assert post_due(webhook_id=webhook.pk, now=at + GIVE_UP_AFTER) == 1
    assert len({headers["webhook-id"] for headers, _ in receiver.came}) == 1


def test_no_redirect_is_followed(hook: tuple[Webhook, str], receiver: Receiver) -> None:
    webhook, _ = hook
    receiver.status, receiver.location = 302, receiver.url
    at = read_clock()
    owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    post_due(webhook_id=webhook.pk, now=at)
    assert len(receiver.came) == 1
    assert WebhookMessage.objects.get().error == "answered 302"


def test_an_endless_answer_and_a_slow_one_end(receiver: Receiver, monkeypatch: Any) -> None:
    receiver.huge = True
    began = time.monotonic()
    assert posting.post(url=receiver.url, body=b"{}", headers={}).status == 204
    receiver.huge, receiver.wait = False, 5
    monkeypatch.setattr(posting, "WHOLE_SECONDS", 0.5)
    with pytest.raises(posting.NotPosted, match="in time"):
        posting.post(url=receiver.url, body=b"{}", headers={})
    assert time.monotonic() - began < 4


# Special-purpose blocks from memory of the IANA registries (RFC 6890 and its successors).
@pytest.mark.parametrize(
    "address",
    [
        "127.0.0.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "224.0.0.1",
        "255.255.255.255", "::1", "::", "fe80::1", "fc00::1", "ff02::1", "::ffff:10.0.0.1", "::ffff:127.0.0.1",
        "64:ff9b::10.0.0.1", "2002:7f00:1::", "::7f00:1",
    ],
)  # fmt: skip
def test_a_name_that_leads_inside_is_refused_whatever_else_it_gives(address: str, monkeypatch: Any) -> None:
    assert not posting.is_public(ipaddress.ip_address(address))
    asked = []

    def answers(host: str, port: int, **given: Any) -> list[Any]:
        asked.append(host)
        return [(0, 0, 0, "", ("93.184.215.14", port)), (0, 0, 0, "", (address, port))]

    monkeypatch.setattr(posting.socket, "getaddrinfo", answers)
    with pytest.raises(posting.NotPosted, match="not public"):
        posting.post(url="https://hooks.example/", body=b"{}", headers={})
    assert asked == ["hooks.example"]


def test_a_name_is_resolved_once_and_the_checked_address_is_connected_to(monkeypatch: Any) -> None:
    asked, connected = [], []

    def answers(host: str, port: int, **given: Any) -> list[Any]:
        asked.append(host)
        return [(0, 0, 0, "", ("93.184.215.14" if len(asked) == 1 else "127.0.0.1", port))]

    class Connection:
        sock = None

        def __init__(self, address: str, port: int, **given: Any) -> None:
            connected.append((address, given["server_hostname"], given["assert_hostname"]))

        def request(self, *given: Any, **more: Any) -> None:
            raise OSError("far enough")

        def close(self) -> None:
            pass

    monkeypatch.setattr(posting.socket, "getaddrinfo", answers)
    monkeypatch.setattr(posting, "HTTPSConnection", Connection)
    with pytest.raises(posting.NotPosted):
        posting.post(url="https://hooks.example/", body=b"{}", headers={})
    assert (asked, connected) == (["hooks.example"], [("93.184.215.14", "hooks.example", "hooks.example")])


@pytest.mark.parametrize(
    "url",
    ["http://hooks.example/", "ftp://hooks.example", "https://", "https://a:b@hooks.example/", "https://x.example/#a",
     "https://x.example:99999/", "https://x .example/", "javascript:alert(1)"],
)  # fmt: skip
def test_an_address_that_is_none_is_refused_in_words(job: Site, url: str) -> None:
    with pytest.raises(BadInput) as refused:
        add_webhook(site=job, url=url, events=["alert.raised"], who=make.supervisor(job), now=make.MONDAY)
    assert refused.value.errors[0].field == "url"


def test_only_a_supervisor_sets_up_webhooks(job: Site) -> None:
    with pytest.raises(Forbidden):
        add_webhook(
            site=job, url="https://x.example/", events=["alert.raised"], who=make.inspector(job), now=make.MONDAY
        )
