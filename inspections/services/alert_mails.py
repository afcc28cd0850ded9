"""What mails about alerts say, in the language of whoever reads them, with times on the site's clock."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import Count, Q
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inspections.models import Alert, Mail, Mute
from inspections.models.alerts import Severity
from inspections.models.mails import Wish
from inspections.models.mutes import muted_at
from inspections.rules.table import ADVICE, MAY_BE_CRITICAL, TITLES
from inspections.selectors.alerts import WEIGHT, raised_between
from inspections.services.mail_wishes import wish_of
from openings.models import Site
from sitetrack.kit.day_words import day_words
from sitetrack.kit.moments import parse_rfc3339

MOST_LINES = 40
WEIGHTS = {
    Severity.CRITICAL: gettext_lazy("critical"),
    Severity.WARNING: gettext_lazy("warning"),
    Severity.NOTICE: gettext_lazy("notice"),
}


def mail_of_critical(mail: Mail, now: datetime) -> EmailMessage | None:
    """The critical alerts that wait for an answer; None where none does, or the person is told otherwise by now."""
    person = mail.person
    if person is None or wish_of(mail.site_id, person) != Wish.AT_ONCE:
        return None
    alerts = list(
        Alert.objects.filter(pk__in=mail.about["alerts"], closed_at=None)
        .exclude(muted_at(now))
        .select_related("opening__floor")
        .order_by("happened_at", "pk")
    )
    if not alerts:
        return None
    with translation.override(person.language), timezone.override(mail.site.zone):
        first = alerts[0]
        if len(alerts) == 1:
            told = f"{TITLES.get(first.rule, first.rule)}: {_where(first, mail.site)}"
        else:
            told = _("%(n)d critical alerts") % {"n": len(alerts)}
        body = "\n\n".join(
            [
                "\n".join(_lines(alerts)),
                *[str(ADVICE[rule]) for rule in dict.fromkeys(a.rule for a in alerts) if rule in ADVICE][:5],
                _link(mail.site, first if len(alerts) == 1 else None),
                _choice(mail.site),
            ]
        )
    return _message(mail, told, body)


def mail_of_day(mail: Mail, now: datetime) -> EmailMessage | None:
    """What was raised that day and is still open, how much is open in all, and what is muted and by whom."""
    person = mail.person
    wish = wish_of(mail.site_id, person) if person else None
    since, until = parse_rfc3339(mail.about["since"]), parse_rfc3339(mail.about["until"])
    if person is None or wish in {None, Wish.NEVER} or not since or not until:
        return None
    news = raised_between(mail.site, since, until, now).select_related("opening__floor")
    if wish == Wish.AT_ONCE:
        news = news.exclude(severity=Severity.CRITICAL)
    alerts = list(news.annotate(weight=WEIGHT).order_by("weight", "rule", "happened_at")[: MOST_LINES + 1])
    if not alerts:
        return None
    with translation.override(person.language), timezone.override(mail.site.zone):
        count = news.count()
        told = ngettext("%(n)d new alert", "%(n)d new alerts", count) % {"n": count}
        parts = ["\n".join(_lines(alerts)), "\n".join(_totals(mail.site, now))]
        if muted := "\n".join(_critical_mutes(mail.site, now)):
            parts.append(muted)
        parts += [_link(mail.site), _choice(mail.site)]
    return _message(mail, told, "\n\n".join(parts))


def _message(mail: Mail, told: str, body: str) -> EmailMessage:
    subject = " ".join(f"[{mail.site.code}] {told}".split())
    return EmailMessage(subject, f"{mail.site.name}\n\n{body}\n", to=[mail.address])


def _lines(alerts: Sequence[Alert]) -> Iterator[str]:
    for alert in alerts[:MOST_LINES]:
        weight = WEIGHTS[Severity(alert.severity)]
        when = day_words(timezone.localtime(alert.happened_at), "j M H:i")
        where = f"{alert.opening.number}, {alert.opening.floor}, " if alert.opening else ""
        yield f"- {weight}: {TITLES.get(alert.rule, alert.rule)}: {where}{when}"
    if len(alerts) > MOST_LINES:
        yield _("… and more; the sheet has them all.")


def _totals(site: Site, now: datetime) -> Iterator[str]:
    still_open = Alert.objects.filter(site=site, closed_at=None)
    muted = still_open.filter(muted_at(now)).count()
    counts = still_open.exclude(muted_at(now)).aggregate(
        all=Count("pk"), critical=Count("pk", filter=Q(severity=Severity.CRITICAL))
    )
    yield _("Open in all: %(n)d, of which critical: %(critical)d.") % {"n": counts["all"], **counts}
    if muted:
        yield _("Muted: %(n)d.") % {"n": muted}


def _critical_mutes(site: Site, now: datetime) -> Iterable[str]:
    """Who silenced what may be critical: a mute is never a secret."""
    mutes = Mute.objects.holding(now).filter(site=site, rule__in=MAY_BE_CRITICAL)
    for mute in mutes.select_related("floor", "wall", "opening", "muted_by")[:MOST_LINES]:
        yield _("Muted by %(who)s until %(until)s: %(rule)s at %(area)s. %(reason)s") % {
            "who": mute.muted_by,
            "until": day_words(timezone.localtime(mute.until), "j M H:i"),
            "rule": TITLES.get(mute.rule, mute.rule),
            "area": mute.area,
            "reason": mute.reason,
        }


def _where(alert: Alert, site: Site) -> str:
    return alert.opening.number if alert.opening else str(site)


def _link(site: Site, alert: Alert | None = None) -> str:
    return f"{settings.PUBLIC_URL}/s/{site.code}/alerts" + (f"?alert={alert.pk}" if alert else "")


def _choice(site: Site) -> str:
    address = f"{settings.PUBLIC_URL}/s/{site.code}/alerts/mail"
    return _("How you are told: %(address)s") % {"address": address}
