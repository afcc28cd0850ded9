"""Two workers at once, on PostgreSQL: each mail and each message goes out once."""

from collections import Counter
from typing import Any

import pytest
from django.core import mail

from inspections.models import Mail, WebhookMessage
from inspections.services.posting_webhooks import post_due
from inspections.services.sending import send_alerts
from inspections.services.webhooks import add_webhook, owe_test
from sitetrack.access.roles import Role
from sitetrack.kit.clock import now as read_clock
from tests import builders as b
from tests.receiver import Receiver
from tests.services.test_two_at_once import together

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def test_a_mail_that_two_workers_find_owed_is_sent_once(settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    site = b.site()
    for _ in range(19):
        b.member(site, Role.SUPERVISOR)
    for opening in b.openings(site, 3):
        b.alert(opening)
    sent = together(*(lambda: send_alerts(now=b.MONDAY) for _ in range(3)))
    assert sum(int(str(n)) for n in sent) == len(mail.outbox) == 20
    assert max(Counter(each.to[0] for each in mail.outbox).values()) == 1
    assert not Mail.objects.filter(kind="alert").exclude(state="sent", tries=1).exists()


def test_a_message_that_two_workers_find_owed_is_posted_once(receiver: Receiver) -> None:
    site, now = b.site(), read_clock()
    who = b.supervisor(site)
    hook, _secret = add_webhook(site=site, url=receiver.url, events=["alert.raised"], who=who, now=now)
    for _ in range(30):
        owe_test(webhook=hook, who=who, now=now)
    together(*(lambda: post_due(webhook_id=hook.pk, now=now) for _ in range(3)))
    came = Counter(headers["webhook-id"] for headers, _body in receiver.came)
    assert (len(came), max(came.values())) == (30, 1)
    assert not WebhookMessage.objects.exclude(state="sent", tries=1).exists()
