"""Mails against a real server (aiosmtpd, independent of the sender): one that takes, one that refuses, none at all."""

import socket
import time
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from inspections.models import Mail
from inspections.services.sending import send_alerts
from sitetrack.access.roles import Role
from tests import builders as make

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


class Office:
    """Takes mail as it is told."""

    def __init__(self) -> None:
        self.refused: dict[str, str] = {}
        self.taken: list[tuple[str, bytes]] = []

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:  # noqa: N802
        if address in self.refused:
            return self.refused[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        self.taken.append((envelope.rcpt_tos[0], envelope.content))
        return "250 OK"


@pytest.fixture
def office(settings: Any) -> Iterator[Office]:
    office = Office()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    controller = Controller(office, hostname="127.0.0.1", port=port)
    controller.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
    settings.EMAIL_TIMEOUT = 1
    yield office
    controller.stop()


def test_an_address_that_is_refused_keeps_no_other_from_its_mail(office: Office) -> None:
    site = make.site()
    poison, other = make.supervisor(site), make.member(site, Role.SUPERVISOR)
    later = make.member(site, Role.SUPERVISOR)
    office.refused = {poison.email: "550 no such user", later.email: "451 try later"}
    make.alert(make.opening(site))
    assert send_alerts(now=make.MONDAY) == 1
    assert [to for to, _ in office.taken] == [other.email]
    states = {mail.address: (mail.state, mail.error) for mail in Mail.objects.filter(kind="alert")}
    assert states[poison.email] == ("failed", "550 no such user")
    assert states[later.email] == ("waiting", "451 try later")
    office.refused = {}
    assert send_alerts(now=make.MONDAY + HOUR) == 1
    assert sorted(to for to, _ in office.taken) == sorted([other.email, later.email])


def test_a_server_that_is_away_loses_nothing_and_is_not_waited_for_long(office: Office, settings: Any) -> None:
    site = make.site()
    for _ in range(6):
        make.member(site, Role.SUPERVISOR)
    make.alert(make.opening(site))
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, 1
    began = time.monotonic()
    assert send_alerts(now=make.MONDAY) == 0
    waited = time.monotonic() - began
    assert waited < 5
    settings.EMAIL_PORT = port
    # Back: every mail goes at the first look after its own wait, which is never over the longest by what it was told.
    first = Mail.objects.earliest("next_try_at").next_try_at
    last = Mail.objects.latest("next_try_at").next_try_at
    assert send_alerts(now=last) == 7
    print(  # noqa: T201 - what a drill found
        f"\nmail server away: 0 of 7 lost, {waited:.2f} s spent on it; sent again "
        f"{(first - make.MONDAY).total_seconds():.0f} to {(last - make.MONDAY).total_seconds():.0f} s after the refusal"
    )


def test_the_rest_is_told_once_a_day_at_the_sites_hour_in_ones_own_language(office: Office) -> None:
    site = make.site(report_hour=5)
    who = make.supervisor(site)
    who.language = "es"
    who.save()
    make.alert(make.opening(site, "A-1"), "order-uncertain", severity="notice")  # Monday 8:00 in Chicago
    assert send_alerts(now=make.MONDAY + 20 * HOUR) == 0  # 4:00 on Tuesday
    assert send_alerts(now=make.MONDAY + 21 * HOUR) == 1
    assert send_alerts(now=make.MONDAY + 22 * HOUR) == 0
    assert send_alerts(now=make.MONDAY + 46 * HOUR) == 0  # a day without news
    ((to, content),) = office.taken
    assert to == who.email
    assert b"A-1" in content
    assert b"alerta nueva" in content
