"""A mail server that hangs or hangs up, and what the daily mail says of what was muted."""

import socket
import threading
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail

from inspections.models import Mail
from inspections.services.mutes import mute
from inspections.services.sending import send_alerts
from sitetrack.access.roles import Role
from tests import builders as make

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
Talk = Callable[[socket.socket], None]


@pytest.fixture
def server(settings: Any) -> Iterator[Callable[[Talk], None]]:
    """A mail server that talks as it is told, on a thread of its own."""
    listening = socket.create_server(("127.0.0.1", 0))
    over = threading.Event()

    def serve(talk: Talk) -> None:
        while not over.is_set():
            try:
                caller, _address = listening.accept()
            except OSError:
                return
            with caller:
                talk(caller)

    def start(talk: Talk) -> None:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = listening.getsockname()
        settings.EMAIL_TIMEOUT = 1
        threading.Thread(target=serve, args=[talk], daemon=True).start()

    yield start
    over.set()
    listening.close()


def hangs(_caller: socket.socket) -> None:
    time.sleep(2)


def hangs_up_at_the_text(caller: socket.socket) -> None:
    """Takes sender and receiver (RFC 5321, 3.3, from memory) and is gone once the text comes."""
    caller.sendall(b"220 here\r\n")
    while line := caller.recv(4096):
        if line.upper().startswith(b"DATA"):
            caller.sendall(b"354 go on\r\n")
            caller.recv(4096)
            return
        caller.sendall(b"250 ok\r\n")


@pytest.mark.parametrize("talk", [hangs, hangs_up_at_the_text])
def test_a_server_that_hangs_or_hangs_up_keeps_no_worker_and_loses_nothing(
    server: Callable[[Talk], None], settings: Any, talk: Talk
) -> None:
    site = make.site()
    for _ in range(5):
        make.member(site, Role.SUPERVISOR)
    make.alert(make.opening(site))
    server(talk)
    began = time.monotonic()
    assert send_alerts(now=make.MONDAY) == 0
    assert time.monotonic() - began < 8  # three tries of a second, and then the rest waits
    mails = Mail.objects.filter(kind="alert")
    assert set(mails.values_list("state", flat=True)) == {"waiting"}
    assert mails.filter(tries=1).exclude(error="").count() == 3
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert send_alerts(now=make.MONDAY + HOUR) == 6
    assert len({sent.to[0] for sent in mail.outbox}) == 6


def test_the_daily_mail_says_what_is_muted_and_who_muted_what_may_be_critical(settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    site = make.site(report_hour=5)
    who = make.supervisor(site)
    silent, loud = make.opening(site, "A-1"), make.opening(site, "B-2")
    given = {"site": site, "area": silent, "who": who, "now": make.MONDAY}
    mute(**given, rule="boarded-before-checked", until=make.MONDAY + make.DAY * 5, reason="Board comes off Thursday.")
    mute(**given, rule="order-uncertain", until=make.MONDAY + make.DAY * 5, reason="Not for the daily mail.")
    make.alert(silent)
    make.alert(loud, "order-uncertain", severity="notice")
    assert send_alerts(now=make.MONDAY + HOUR) == 0  # the critical one is muted
    assert send_alerts(now=make.MONDAY + 21 * HOUR) == 1
    (sent,) = mail.outbox
    assert "B-2" in sent.body
    assert "Muted: 1." in sent.body
    assert f"Muted by {who} until" in sent.body
    assert "Board comes off Thursday." in sent.body
    assert "Not for the daily mail." not in sent.body


def test_what_was_muted_is_told_when_its_mute_ends(settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    site = make.site(report_hour=5)
    opening = make.opening(site, "A-1")
    until = make.MONDAY + make.DAY * 2
    make.muted(opening, "boarded-before-checked", now=make.MONDAY, until=until)
    make.alert(opening)
    assert send_alerts(now=until - HOUR) == 0
    assert send_alerts(now=until + HOUR) == 1
    assert "A-1" in mail.outbox[0].subject
