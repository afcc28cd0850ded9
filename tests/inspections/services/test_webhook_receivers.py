"""What receivers may answer, and what a message is signed with and proved by on its way to them."""

import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from standardwebhooks import Webhook as Verifier

from inspections.models import Webhook, WebhookMessage
from inspections.services.posting_webhooks import post_due, post_message, webhooks_due
from inspections.services.webhooks import add_webhook, owe_test, rotate_secret
from openings.models import Site
from sitetrack.kit import posting
from sitetrack.kit.clock import now as read_clock
from sitetrack.reports.keeping import issue_status
from tests import builders as make
from tests.receiver import Receiver
from tests.reports import story

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def receiver(settings: Any) -> Iterator[Receiver]:
    settings.WEBHOOK_ALLOW_PRIVATE = {"127.0.0.1", "hooks.test"}
    server = Receiver()
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def hook_of(site: Site, receiver: Receiver) -> tuple[Webhook, str]:
    events = ["alert.raised", "snapshot.made"]
    return add_webhook(site=site, url=receiver.url, events=events, who=make.supervisor(site), now=read_clock())


def owed(webhook: Webhook) -> WebhookMessage:
    return owe_test(webhook=webhook, who=make.supervisor(webhook.site), now=read_clock())


def test_whoever_answers_gone_is_told_nothing_more(receiver: Receiver) -> None:
    webhook, _ = hook_of(make.site(), receiver)
    owed(webhook)
    receiver.status = 410
    post_due(webhook_id=webhook.pk, now=read_clock())
    webhook.refresh_from_db()
    assert webhook.stopped_at
    assert "410" in webhook.stopped_why
    assert WebhookMessage.objects.get().state == "failed"
    make.check_in(make.crew(webhook.site), make.opening(webhook.site), "set", "start")  # raises an alert
    assert WebhookMessage.objects.count() == 1


@pytest.mark.parametrize("status", [429, 503])
def test_whoever_asks_for_time_gets_it_for_every_message(receiver: Receiver, status: int) -> None:
    webhook, _ = hook_of(make.site(), receiver)
    first, second = owed(webhook), owed(webhook)
    receiver.status, receiver.retry_after = status, "7200"
    at = read_clock()
    post_due(webhook_id=webhook.pk, now=at)
    assert len(receiver.came) == 1
    first.refresh_from_db()
    assert first.next_try_at >= at + 2 * HOUR
    assert webhooks_due(now=at + HOUR) == []
    assert second.state == "waiting"
    receiver.status = 204
    assert webhooks_due(now=at + 3 * HOUR) == [webhook.pk]
    assert post_due(webhook_id=webhook.pk, now=at + 3 * HOUR) == 2


def test_a_person_at_the_page_does_not_wait_for_a_receiver_that_hangs(receiver: Receiver) -> None:
    webhook, _ = hook_of(make.site(), receiver)
    message = owed(webhook)
    receiver.wait = 3
    began = read_clock()
    posted = post_message(message_id=message.pk, now=began, within=0.5)
    assert read_clock() - began < timedelta(seconds=2)
    assert posted is not None
    assert (posted.state, "in time" in posted.error) == ("waiting", True)


def test_under_another_key_nothing_is_signed_until_a_new_secret_is_made(receiver: Receiver, settings: Any) -> None:
    webhook, _ = hook_of(make.site(), receiver)
    owed(webhook)
    settings.SECRET_KEY = "another key than before, long enough to be one"
    at = read_clock()
    assert post_due(webhook_id=webhook.pk, now=at) == 0
    assert receiver.came == []
    assert "key has changed" in WebhookMessage.objects.get().error
    secret = rotate_secret(webhook=webhook, who=make.supervisor(webhook.site), now=at)
    WebhookMessage.objects.update(next_try_at=at)
    assert post_due(webhook_id=webhook.pk, now=at) == 1
    ((headers, body),) = receiver.came
    assert Verifier(secret).verify(body, headers)["type"] == "test"
    assert len(headers["webhook-signature"].split(" ")) == 1  # none with what the key before gave


def test_a_weekly_status_that_was_issued_is_told_once(receiver: Receiver, settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path
    site = story.job().site
    webhook, secret = hook_of(site, receiver)
    for _ in range(2):
        kept = issue_status(site=site, week=story.WEEK, now=story.AFTER)
    post_due(webhook_id=webhook.pk, now=read_clock())
    told = [Verifier(secret).verify(body, headers) for headers, body in receiver.came]
    made = [each for each in told if each["type"] == "snapshot.made"]
    assert [(each["data"]["week"], each["data"]["digest"]) for each in made] == [(str(story.WEEK), kept.digest)]


# --- TLS: certificates are made while the test runs, by a maker of certificates that knows nothing of this project ---


def openssl(*arguments: str, where: Path) -> None:
    subprocess.run(["openssl", *arguments], cwd=where, check=True, capture_output=True)


@pytest.fixture
def maker(tmp_path: Path) -> Callable[[str], tuple[Path, Path]]:
    """Makes the certificate of a name, signed by an authority of this test."""
    openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=test authority",
            "-keyout", "ca.key", "-out", "ca.pem", where=tmp_path)  # fmt: skip

    def make_one(name: str) -> tuple[Path, Path]:
        openssl("req", "-newkey", "rsa:2048", "-nodes", "-subj", f"/CN={name}", "-keyout", f"{name}.key",
                "-out", f"{name}.csr", where=tmp_path)  # fmt: skip
        (tmp_path / "names").write_text(f"subjectAltName=DNS:{name}\n")
        openssl("x509", "-req", "-in", f"{name}.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial",
                "-days", "2", "-extfile", "names", "-out", f"{name}.pem", where=tmp_path)  # fmt: skip
        return tmp_path / f"{name}.pem", tmp_path / f"{name}.key"

    return make_one


def behind_tls(receiver: Receiver, pair: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The receiver with this certificate, found under hooks.test; gives whom its callers asked for."""
    asked: list[Any] = []
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*pair)
    context.sni_callback = lambda _socket, name, _context: asked.append(name)
    receiver.socket = context.wrap_socket(receiver.socket, server_side=True)
    real = posting.socket.getaddrinfo

    def answers(host: str, *given: Any, **more: Any) -> list[Any]:
        asked.append(f"where is {host}")
        return real("127.0.0.1" if host == "hooks.test" else host, *given, **more)

    monkeypatch.setattr(posting.socket, "getaddrinfo", answers)
    return asked


def send(receiver: Receiver) -> posting.Answer:
    return posting.post(url=f"https://hooks.test:{receiver.server_address[1]}/hook", body=b"{}", headers={})


def test_tls_proves_the_name_while_the_address_is_connected_to(
    receiver: Receiver, maker: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked = behind_tls(receiver, maker("hooks.test"), monkeypatch)
    monkeypatch.setenv("SSL_CERT_FILE", str(tmp_path / "ca.pem"))
    assert send(receiver).status == 204
    assert asked == ["where is hooks.test", "where is 127.0.0.1", "hooks.test"]
    ((headers, _),) = receiver.came
    assert headers["Host"] == f"hooks.test:{receiver.server_address[1]}"


@pytest.mark.parametrize(("name", "trusted"), [("other.test", True), ("hooks.test", False)])
def test_a_certificate_of_another_name_or_of_nobody_known_is_not_posted_to(
    receiver: Receiver, maker: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, name: str, trusted: bool
) -> None:
    behind_tls(receiver, maker(name), monkeypatch)
    if trusted:
        monkeypatch.setenv("SSL_CERT_FILE", str(tmp_path / "ca.pem"))
    with pytest.raises(posting.NotPosted, match=r"SSL|Certificate"):
        send(receiver)
    assert receiver.came == []
