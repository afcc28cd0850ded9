"""Telling people about critical alerts by mail."""

import logging
from datetime import datetime
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import translation

from inspections.models import Alert
from inspections.models.alerts import Severity
from inspections.rules.table import ADVICE, TITLES
from openings.models import Site
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role

MOST_AT_ONCE = 100
log = logging.getLogger(__name__)


def send_alerts(*, now: datetime) -> int:
    """Mail each critical alert not sent yet to its site's supervisors; returns how many were sent.

    An alert is marked as sent in the transaction that sends it: a refused mail leaves it unsent for the next run, and
    a crash between the two may send it twice, never not at all. Where no mail server is set, alerts wait unsent.
    """
    if not settings.EMAIL_HOST:
        return 0
    sent = 0
    waiting = Alert.objects.filter(sent_at=None, closed_at=None, severity=Severity.CRITICAL).order_by("id")
    for pk in list(waiting.values_list("pk", flat=True)[:MOST_AT_ONCE]):
        with transaction.atomic():
            alert = (
                Alert.objects.select_for_update(skip_locked=True, of=("self",))
                .select_related("site", "opening")
                .filter(pk=pk, sent_at=None)
                .first()
            )
            if alert is None:
                continue
            try:
                _mail(alert)
            except (SMTPException, OSError) as error:
                log.warning("alert %s not mailed, will be tried again: %s", alert.pk, type(error).__name__)
                continue
            alert.sent_at = now
            alert.save(update_fields=["sent_at"])
            sent += 1
    return sent


def _mail(alert: Alert) -> None:
    people = Membership.objects.filter(site=alert.site, role=Role.SUPERVISOR, ended_at=None, person__is_active=True)
    to = list(people.values_list("person__email", flat=True))
    if not to:
        return
    with translation.override(alert.site.language):
        where = alert.opening.number if alert.opening else str(alert.site)
        link = f"{settings.PUBLIC_URL}{_path(alert.site, alert)}"
        body = f"{TITLES[alert.rule]}: {where}\n\n{ADVICE[alert.rule]}\n\n{link}\n"
        EmailMessage(f"[{alert.site.code}] {TITLES[alert.rule]}: {where}", body, to=to).send()


def _path(site: Site, alert: Alert) -> str:
    return f"/s/{site.code}/alerts#{alert.pk}"
