"""Telling people about critical alerts by mail."""

import logging
from datetime import datetime, timedelta
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import F, Q, QuerySet
from django.utils import translation

from inspections.models import Alert
from inspections.models.alerts import Severity
from inspections.rules.table import ADVICE, TITLES
from openings.models import Site
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role

MOST_AT_ONCE = 100
TRY_AGAIN_AFTER = timedelta(minutes=5)
log = logging.getLogger(__name__)


def send_alerts(*, now: datetime) -> int:
    """Mail each critical alert not sent yet to its site's supervisors; returns how many were sent.

    An alert is claimed before it is sent and marked after, and no lock is held while the mail server talks. A refused
    mail is tried again later, behind those not tried yet; a crash between sending and marking may send it twice, never
    not at all. Where no mail server is set, alerts wait unsent.
    """
    if not settings.EMAIL_HOST:
        return 0
    sent = 0
    for pk in list(
        _waiting(now).order_by(F("tried_at").asc(nulls_first=True), "id").values_list("pk", flat=True)[:MOST_AT_ONCE]
    ):
        if not _waiting(now).filter(pk=pk).update(tried_at=now):
            continue  # another worker has it
        alert = Alert.objects.select_related("site", "opening").get(pk=pk)
        try:
            _mail(alert)
        except (SMTPException, OSError) as error:
            log.warning("alert %s not mailed, will be tried again: %s", alert.pk, type(error).__name__)
            continue
        sent += Alert.objects.filter(pk=alert.pk).update(sent_at=now)
    return sent


def _waiting(now: datetime) -> QuerySet[Alert]:
    unsent = Alert.objects.filter(sent_at=None, closed_at=None, severity=Severity.CRITICAL)
    return unsent.filter(Q(tried_at=None) | Q(tried_at__lt=now - TRY_AGAIN_AFTER))


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
