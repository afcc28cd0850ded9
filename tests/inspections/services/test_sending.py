"""Critical alerts reach the supervisors by mail, once; a refusing mail server loses nothing."""

from smtplib import SMTPServerDisconnected

import pytest
from django.core import mail

from inspections.models import Alert
from inspections.services.sending import send_alerts
from tests import builders as b

pytestmark = pytest.mark.django_db


@pytest.fixture
def mail_server(settings):
    settings.EMAIL_HOST = "mail.example"
    return settings


def test_a_critical_alert_is_mailed_once_to_the_supervisors(mail_server):
    opening = b.opening(b.site())
    b.alert(opening)
    b.alert(opening, severity="warning")
    assert send_alerts(now=b.MONDAY) == 1
    assert send_alerts(now=b.MONDAY) == 0
    (sent,) = mail.outbox
    assert sent.to == [b.supervisor(opening.site).email]
    assert opening.number in sent.subject


def test_a_refusing_mail_server_leaves_the_alert_for_the_next_run(mail_server, monkeypatch):
    b.alert(b.opening(b.site()))

    def refuse(self, messages):
        raise SMTPServerDisconnected("no")

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", refuse)
    assert send_alerts(now=b.MONDAY) == 0
    monkeypatch.undo()
    mail_server.EMAIL_HOST = "mail.example"
    assert send_alerts(now=b.MONDAY) == 0
    assert send_alerts(now=b.MONDAY + b.MINUTE * 2) == 1


def test_without_a_mail_server_nothing_is_said_to_be_sent():
    b.alert(b.opening(b.site()))
    assert send_alerts(now=b.MONDAY) == 0
    assert Alert.objects.get().sent_at is None
