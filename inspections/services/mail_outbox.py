"""Sending the mails that are owed: each on its own, so that an address nobody can reach keeps no other from its mail.

A mail is claimed before it is sent and marked after, and no lock is held while the mail server talks. A crash between
the two may send it twice, under the same Message-ID; never not at all. Where no mail server is set, everything waits.
"""

import logging
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from smtplib import SMTPDataError, SMTPException, SMTPRecipientsRefused

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from inspections.models import Mail
from inspections.models.mails import SendState
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.backoff import GIVE_UP_AFTER, wait_after
from sitetrack.kit.problems import Conflict

MOST_AT_ONCE = 200
CLAIMED_FOR = timedelta(minutes=5)
# A server that hangs holds the worker for EMAIL_TIMEOUT each time; after so many the rest waits for the next run.
MOST_BROKEN_OFF = 3
log = logging.getLogger(__name__)

Compose = Callable[[Mail, datetime], EmailMessage | None]


def send_mails(*, compose: Mapping[str, Compose], now: datetime) -> int:
    """Send what is due of these kinds, the longest due first; returns how many went.

    `compose` puts a mail together from how things stand now, or gives None where there is nothing to tell any more.
    """
    if not settings.EMAIL_HOST:
        return 0
    due = Mail.objects.filter(kind__in=compose, state=SendState.WAITING, next_try_at__lte=now)
    sent = broken_off = 0
    for pk in list(due.order_by("next_try_at", "id").values_list("pk", flat=True)[:MOST_AT_ONCE]):
        if not due.filter(pk=pk).update(next_try_at=now + CLAIMED_FOR, tries=F("tries") + 1):
            continue  # another worker has it
        mail = Mail.objects.select_related("site", "person").get(pk=pk)
        try:
            message = compose[mail.kind](mail, now)
            if message is None:
                _settle(mail, SendState.WITHDRAWN, now)
                continue
            message.extra_headers["Message-ID"] = f"<{mail.pk}@{_our_domain()}>"
            message.send()
        except (SMTPRecipientsRefused, SMTPDataError) as error:
            _failed(mail, error, now, for_good=_refused_for_good(error))
        except (SMTPException, OSError) as error:
            _failed(mail, error, now)
            broken_off += 1
            if broken_off == MOST_BROKEN_OFF:
                break
        else:
            _settle(mail, SendState.SENT, now)
            sent += 1
    return sent


def _our_domain() -> str:
    return settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].strip(">")


@transaction.atomic
def send_mail_again(*, mail: Mail, who: Person, now: datetime) -> Mail:
    """Owe a mail that was given up once more, from now."""
    must(who, mail.site_id, Right.MANAGE_OUTSIDE)
    mail = Mail.objects.select_for_update(of=("self",)).select_related("site").get(pk=mail.pk)
    if mail.state != SendState.FAILED:
        raise Conflict(_("This mail is not one that was given up."))
    mail.state, mail.tries, mail.owed_at, mail.next_try_at = SendState.WAITING, 0, now, now
    mail.settled_at = None
    mail.save(update_fields=["state", "tries", "owed_at", "next_try_at", "settled_at"])
    record_change(site=mail.site, who=who, now=now, kind=Kind.MAILING, act=Act.SENT, about=mail.address)
    return mail


def _settle(mail: Mail, state: SendState, now: datetime, error: str = "") -> None:
    Mail.objects.filter(pk=mail.pk).update(state=state, settled_at=now, error=error)


def _failed(mail: Mail, error: Exception, now: datetime, *, for_good: bool = False) -> None:
    words = _said(error)
    log.warning("mail %s of %s not sent: %s", mail.pk, mail.site.code, type(error).__name__)
    if for_good or now - mail.owed_at >= GIVE_UP_AFTER:
        _settle(mail, SendState.FAILED, now, words)
    else:
        Mail.objects.filter(pk=mail.pk).update(next_try_at=now + wait_after(mail.tries), error=words)


def _refused_for_good(error: SMTPRecipientsRefused | SMTPDataError) -> bool:
    """A refusal of the 5yz kind: the same mail is not to be tried again (RFC 5321, 4.2.1, from memory)."""
    if isinstance(error, SMTPDataError):
        return error.smtp_code >= 500
    return all(code >= 500 for code, _said in error.recipients.values())


def _said(error: Exception) -> str:
    """What the mail server said, in one line."""
    if isinstance(error, SMTPRecipientsRefused):
        parts = [_line(code, said) for code, said in error.recipients.values()]
    elif isinstance(error, SMTPDataError):
        parts = [_line(error.smtp_code, error.smtp_error)]
    else:
        parts = [str(error) or type(error).__name__]
    return " ".join("; ".join(parts).split())[:200]


def _line(code: int, said: bytes | str) -> str:
    return f"{code} {said.decode('utf-8', 'replace') if isinstance(said, bytes) else said}"
