"""Two beats by mistake, each handing out the same hour: on PostgreSQL, one status, told and mailed once."""

from typing import Any

import pytest
from django.core import mail

from inspections.models import Mail, WebhookMessage
from inspections.services.webhooks import add_webhook
from openings.models import Site
from sitetrack.reports.keeping import issue_status, weeks_owed
from sitetrack.reports.mailing import mail_out
from sitetrack.reports.models import Reader, WeeklyStatus
from tests import builders as b
from tests.receiver import Receiver
from tests.services.test_two_at_once import together

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
TUESDAY = b.MONDAY + 8 * b.DAY


def test_a_week_that_two_beats_find_owed_is_issued_and_mailed_once(
    settings: Any, tmp_path: Any, receiver: Receiver
) -> None:
    settings.EMAIL_HOST, settings.MEDIA_ROOT = "mail.example", tmp_path / "media"
    site = b.site()
    b.opening(site, "101")
    add_webhook(site=site, url=receiver.url, events=["snapshot.made"], who=b.supervisor(site), now=b.MONDAY)
    for n in range(3):
        Reader.objects.create(site=site, email=f"office-{n}@example.com")

    (week,) = weeks_owed(site, TUESDAY)  # as each beat has found it before any worker is done

    def work() -> None:
        issue_status(site=Site.objects.get(pk=site.pk), week=week, now=TUESDAY)
        mail_out(now=TUESDAY)

    together(work, work, work)
    kept = WeeklyStatus.objects.get()
    assert all((settings.MEDIA_ROOT / each["name"]).stat().st_size == each["bytes"] for each in kept.files.values())
    assert WebhookMessage.objects.filter(event="snapshot.made").count() == 1
    mail_out(now=TUESDAY)
    assert sorted(each.to[0] for each in mail.outbox) == [f"office-{n}@example.com" for n in range(3)]
    assert Mail.objects.filter(state="sent", tries=1).count() == 3
