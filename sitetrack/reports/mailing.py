"""Mailing what was issued to a site's list, and the end of its sealed record to those who keep it elsewhere.

Each mail is a row of its own, owed once, in one transaction with the note that its status was handed out; a reader whom
no mail reaches keeps no other from theirs. `inspections/services/mail_outbox.py` sends them, tries again and gives up.
Where no mail server is set, everything waits.
"""

import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import translation
from django.utils.translation import gettext as _

from inspections.evidence.verifying import anchor_of
from inspections.models import Mail
from inspections.services.mail_outbox import Compose, send_mails
from openings.models import Site
from sitetrack.reports.edition import edition_of, read_in
from sitetrack.reports.keeping import kept_file
from sitetrack.reports.making import Format, make_status, paper_size
from sitetrack.reports.models import Reader, WeeklyStatus
from sitetrack.reports.week import parse_week

MOST_AT_ONCE = 20
# A status that could not be handed out for so long is no news any more.
STALE = timedelta(days=7)


def mail_out(*, now: datetime) -> int:
    """Owe what was issued and the day's anchors, and send what is due; returns how many mails went."""
    if not settings.EMAIL_HOST:
        return 0
    owe_statuses(now=now)
    owe_anchors(now=now)
    return send_mails(compose=COMPOSE, now=now)


def owe_statuses(*, now: datetime) -> None:
    """Owe each status not handed out yet to its site's readers."""
    waiting = WeeklyStatus.objects.filter(owed_at=None, made_at__gt=now - STALE).order_by("made_at")
    for pk in list(waiting.values_list("pk", flat=True)[:MOST_AT_ONCE]):
        with transaction.atomic():
            locked = WeeklyStatus.objects.select_for_update(skip_locked=True, of=("self",)).select_related("site")
            kept = locked.filter(pk=pk, owed_at=None).first()
            if kept is None:
                continue
            Mail.objects.bulk_create(
                _owed(reader, Mail.Kind.STATUS, str(kept.pk), now, about={"status": str(kept.pk)})
                for reader in Reader.objects.filter(site=kept.site, gets_status=True)
            )
            kept.owed_at = now
            kept.save(update_fields=["owed_at"])


def owe_anchors(*, now: datetime) -> None:
    """Owe the end of each sealed record, once a day on its site's clock, to those who keep it."""
    for site in Site.objects.filter(pk__in=Reader.objects.filter(gets_anchor=True).values("site")):
        today = f"{now.astimezone(site.zone).date()}"
        Mail.objects.bulk_create(
            (
                _owed(reader, Mail.Kind.ANCHOR, today, now)
                for reader in Reader.objects.filter(site=site, gets_anchor=True)
            ),
            ignore_conflicts=True,  # the day's is owed already
        )


def _owed(reader: Reader, kind: str, once: str, now: datetime, about: dict[str, str] | None = None) -> Mail:
    return Mail(
        site_id=reader.site_id,
        kind=kind,
        key=f"{kind}:{reader.pk}:{once}",
        address=reader.email,
        about={"reader": reader.pk, **(about or {})},
        owed_at=now,
        next_try_at=now,
    )


def mail_of_status(mail: Mail, now: datetime) -> EmailMessage | None:
    """An issued status in the edition, the language and on the paper of its reader; None for who left the list."""
    reader = _reader(mail)
    kept = WeeklyStatus.objects.select_related("site").filter(pk=mail.about["status"]).first()
    if reader is None or not reader.gets_status or kept is None:
        return None
    site = read_in(kept.site, reader.language)
    name, content, digest = _printed(kept, site, reader, now)
    with translation.override(site.language):
        title = _("Weekly status")
        link = f"{settings.PUBLIC_URL}/s/{site.code}/weekly"
        said = _("SHA-256 of the figures: %(digest)s") % {"digest": digest}
        message = EmailMessage(
            f"[{site.code}] {title} {kept.iso_week}", f"{site.name}\n{link}\n\n{said}\n", to=[mail.address]
        )
    message.attach(name, content, "application/pdf")
    return message


def _printed(kept: WeeklyStatus, site: Site, reader: Reader, now: datetime) -> tuple[str, bytes, str]:
    """The name, the bytes and the digest of the print: the one that was kept where it serves, else made again."""
    form = Format.A4 if (reader.paper or paper_size(site, Format.PDF)) == "a4" else Format.LETTER
    if reader.company is None and site.language == kept.site.language:
        path = kept_file(kept, form)
        if path:
            with path.open() as file:
                return path.name, file.read(), kept.digest
    edition = edition_of(site, reader.company) if reader.company else None
    with tempfile.TemporaryDirectory(prefix="edition-") as folder:
        week = parse_week(kept.iso_week)
        made = make_status(site=site, week=week, now=now, folder=Path(folder), formats=[form], edition=edition)
        return made.files[0].name, made.files[0].read_bytes(), made.digest


def mail_of_anchor(mail: Mail, now: datetime) -> EmailMessage | None:
    """The end of the record as it is when the mail goes; None for who left the list."""
    reader = _reader(mail)
    if reader is None or not reader.gets_anchor:
        return None
    anchor = anchor_of(mail.site)
    with translation.override(reader.language or mail.site.language):
        subject = _("End of the sealed record, entry %(n)d") % {"n": anchor.n}
        body = _("Keep this line. It proves later that nothing before it was changed or cut off:")
        command = f'manage.py verify_record --site {anchor.site} --anchor "{anchor}"'
        text = f"{body}\n\n{anchor}\n\n{command}\n"
        return EmailMessage(f"[{anchor.site}] {subject}", text, to=[mail.address])


def _reader(mail: Mail) -> Reader | None:
    return Reader.objects.select_related("company").filter(site=mail.site_id, pk=mail.about["reader"]).first()


COMPOSE: dict[str, Compose] = {Mail.Kind.STATUS: mail_of_status, Mail.Kind.ANCHOR: mail_of_anchor}
