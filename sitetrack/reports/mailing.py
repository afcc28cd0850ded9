"""Mailing what was issued to a site's list, and the end of its sealed record to those who keep it elsewhere.

Marked as mailed in the transaction that mails it: a refused mail is tried again, a crash between the two may mail
twice, never not at all. Where no mail server is set, everything waits.
"""

import logging
import tempfile
from datetime import datetime, timedelta
from pathlib import Path
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Q
from django.utils import translation
from django.utils.translation import gettext as _

from inspections.evidence.verifying import anchor_of
from sitetrack.reports.edition import edition_of
from sitetrack.reports.keeping import kept_file
from sitetrack.reports.making import Format, make_status, paper_size
from sitetrack.reports.models import Reader, WeeklyStatus
from sitetrack.reports.week import parse_week

MOST_AT_ONCE = 20
# A status that could not be mailed for so long is no news any more.
STALE = timedelta(days=7)
log = logging.getLogger(__name__)


def mail_statuses(*, now: datetime) -> int:
    """Mail each issued status not mailed yet to its site's readers; returns how many statuses went."""
    if not settings.EMAIL_HOST:
        return 0
    waiting = WeeklyStatus.objects.filter(mailed_at=None, made_at__gt=now - STALE).order_by("made_at")
    sent = 0
    for pk in list(waiting.values_list("pk", flat=True)[:MOST_AT_ONCE]):
        with transaction.atomic():
            locked = WeeklyStatus.objects.select_for_update(skip_locked=True, of=("self",)).select_related("site")
            kept = locked.filter(pk=pk, mailed_at=None).first()
            if kept is None:
                continue
            try:
                for reader in Reader.objects.filter(site=kept.site, gets_status=True).select_related("company"):
                    _mail_status(kept, reader, now)
            except (SMTPException, OSError) as error:
                log.warning("status %s not mailed, will be tried again: %s", kept.pk, type(error).__name__)
                continue
            kept.mailed_at = now
            kept.save(update_fields=["mailed_at"])
            sent += 1
    return sent


def mail_anchors(*, now: datetime) -> int:
    """Mail the end of each sealed record, once a day on its site's clock, to those who keep it; returns how many."""
    if not settings.EMAIL_HOST:
        return 0
    sent = 0
    for pk, zone in [(r.pk, r.site.zone) for r in Reader.objects.filter(gets_anchor=True).select_related("site")]:
        today = now.astimezone(zone).date()
        with transaction.atomic():
            locked = Reader.objects.select_for_update(skip_locked=True, of=("self",)).select_related("site")
            reader = locked.filter(Q(anchored_on=None) | Q(anchored_on__lt=today), pk=pk).first()
            if reader is None:
                continue
            try:
                _mail_anchor(reader)
            except (SMTPException, OSError) as error:
                log.warning("anchor for %s not mailed, will be tried again: %s", reader.site.code, type(error).__name__)
                continue
            reader.anchored_on = today
            reader.save(update_fields=["anchored_on"])
            sent += 1
    return sent


def _mail_status(kept: WeeklyStatus, reader: Reader, now: datetime) -> None:
    site, form = kept.site, Format.A4 if paper_size(kept.site, Format.PDF) == "a4" else Format.LETTER
    with translation.override(site.language):
        title = _("Weekly status")
        link = f"{settings.PUBLIC_URL}/s/{site.code}/weekly"
        digest = _("SHA-256 of the figures: %(digest)s") % {"digest": kept.digest}
        mail = EmailMessage(
            f"[{site.code}] {title} {kept.iso_week}", f"{site.name}\n{link}\n\n{digest}\n", to=[reader.email]
        )
    if reader.company is None:
        path = kept_file(kept, form)
        if path:
            with path.open() as file:
                mail.attach(path.name, file.read(), "application/pdf")
        mail.send()
        return
    with tempfile.TemporaryDirectory(prefix="edition-") as folder:
        made = make_status(
            site=site,
            week=parse_week(kept.iso_week),
            now=now,
            folder=Path(folder),
            formats=[form],
            edition=edition_of(site, reader.company),
        )
        mail.attach(made.files[0].name, made.files[0].read_bytes(), "application/pdf")
        mail.send()


def _mail_anchor(reader: Reader) -> None:
    anchor = anchor_of(reader.site)
    with translation.override(reader.site.language):
        subject = _("End of the sealed record, entry %(n)d") % {"n": anchor.n}
        body = _("Keep this line. It proves later that nothing before it was changed or cut off:")
        command = f'manage.py verify_record --site {anchor.site} --anchor "{anchor}"'
        mail = EmailMessage(f"[{anchor.site}] {subject}", f"{body}\n\n{anchor}\n\n{command}\n", to=[reader.email])
    mail.send()
