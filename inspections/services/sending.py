"""Telling people of alerts by mail: critical ones at once, the rest once a day at the site's own hour.

What is to be told is first put among the mails owed, once; services/mail_outbox.py then sends those. A muted alert is
told when its mute ends.
"""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet

from inspections.models import Alert, Mail
from inspections.models.alerts import Severity
from inspections.models.mails import SendState, Wish
from inspections.models.mutes import muted_at
from inspections.selectors.alerts import raised_between
from inspections.services.alert_mails import mail_of_critical, mail_of_day
from inspections.services.mail_outbox import Compose, send_mails
from inspections.services.mail_wishes import Told, people_of
from openings.models import Site
from openings.services.changes import lock_site
from sitetrack.kit.clock import rfc3339, to_ms
from sitetrack.kit.moments import parse_rfc3339

DAY = timedelta(days=1)
MOST_TOLD_AT_ONCE = 500
COMPOSE: dict[str, Compose] = {Mail.Kind.ALERT: mail_of_critical, Mail.Kind.DIGEST: mail_of_day}


def send_alerts(*, now: datetime) -> int:
    """Put what is to be told among the mails owed and send what is due; returns how many mails went.

    Where no mail server is set, alerts wait unsent.
    """
    if not settings.EMAIL_HOST:
        return 0
    owe_critical(now=now)
    owe_days(now=now)
    return send_mails(compose=COMPOSE, now=now)


def owe_critical(*, now: datetime) -> None:
    """Owe each person who is told at once one mail with the critical alerts nobody was told of yet."""
    for site in Site.objects.filter(pk__in=_untold(now).values("site")):
        with transaction.atomic():
            lock_site(site.pk)  # two workers would otherwise both tell
            alerts = list(_untold(now).filter(site=site).order_by("pk")[:MOST_TOLD_AT_ONCE])
            if not alerts:
                continue
            Mail.objects.bulk_create(
                Mail(
                    site=site,
                    kind=Mail.Kind.ALERT,
                    key=f"alert:{alerts[0].pk}:{to_ms(now)}:{told.person.pk}",
                    address=told.person.email,
                    person=told.person,
                    about={"alerts": [str(alert.pk) for alert in alerts]},
                    owed_at=now,
                    next_try_at=now,
                )
                for told in people_of(site)
                if told.wish == Wish.AT_ONCE
            )
            Alert.objects.filter(pk__in=[alert.pk for alert in alerts]).update(sent_at=now)


def _untold(now: datetime) -> QuerySet[Alert]:
    return Alert.objects.filter(sent_at=None, closed_at=None, severity=Severity.CRITICAL).exclude(muted_at(now))


def owe_days(*, now: datetime) -> None:
    """Owe each person who is told daily the alerts of the day that ended at the site's hour, if there are any.

    A day is owed once; the next one begins where the last one ended, so that days on which the server was away are
    told with the day after.
    """
    for site in Site.objects.all():
        day = day_ended(site, now)
        until = end_of_day(site, day)
        told = [told for told in people_of(site) if told.wish != Wish.NEVER]
        owed = {_key(site, each, day): each for each in told}
        known = set(Mail.objects.filter(key__in=owed).values_list("key", flat=True))
        if set(owed) <= known:
            continue
        last = _last_ends(site, told)
        Mail.objects.bulk_create(
            (
                _day_owed(site, each, key, last.get(each.person.pk, until - DAY), until, now)
                for key, each in owed.items()
                if key not in known
            ),
            ignore_conflicts=True,
        )


def day_ended(site: Site, now: datetime) -> date:
    """The day, on the site's clock, whose hour for mails came last."""
    today = now.astimezone(site.zone).date()
    return today if end_of_day(site, today) <= now else today - DAY


def end_of_day(site: Site, day: date) -> datetime:
    """The site's hour for its mails and reports, on a day of its clock."""
    return datetime.combine(day, time(site.report_hour), tzinfo=site.zone)


def _key(site: Site, told: Told, day: date) -> str:
    return f"digest:{site.pk}:{told.person.pk}:{day}"


def _last_ends(site: Site, told: Iterable[Told]) -> dict[object, datetime]:
    """Until when each person was told last."""
    people = [each.person.pk for each in told]
    mails = Mail.objects.filter(site=site, kind=Mail.Kind.DIGEST, person__in=people).order_by("owed_at")
    ends = {person: parse_rfc3339(about["until"]) for person, about in mails.values_list("person", "about")}
    return {person: end for person, end in ends.items() if end}


def _day_owed(site: Site, told: Told, key: str, since: datetime, until: datetime, now: datetime) -> Mail:
    """A day without news is settled at once, so that it is neither mailed nor looked at again."""
    news = raised_between(site, since, until, now).exclude(
        severity__in=[Severity.CRITICAL] if told.wish == Wish.AT_ONCE else []
    )
    quiet = not news.exists()
    return Mail(
        site=site,
        kind=Mail.Kind.DIGEST,
        key=key,
        address=told.person.email,
        person=told.person,
        about={"since": rfc3339(since), "until": rfc3339(until)},
        owed_at=now,
        next_try_at=now,
        state=SendState.WITHDRAWN if quiet else SendState.WAITING,
        settled_at=now if quiet else None,
    )
