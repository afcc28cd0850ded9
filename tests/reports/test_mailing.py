"""Who gets what by mail, and once. Outside check: pypdf opens what is attached."""

import io
from datetime import timedelta
from smtplib import SMTPException, SMTPRecipientsRefused

import pypdf
import pytest
from django.core import mail
from django.core.files.storage import default_storage
from django.core.mail import EmailMessage

from inspections.evidence.verifying import check_anchor, parse_anchor
from inspections.models import Mail
from inspections.models.mails import SendState
from sitetrack.reports.keeping import issue_status, kept_file
from sitetrack.reports.mailing import mail_out
from sitetrack.reports.making import Format
from sitetrack.reports.models import Reader, WeeklyStatus
from tests.reports.story import AFTER, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture
def story(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.EMAIL_HOST = "mail.example"
    story = job()
    story.kept = issue_status(site=story.site, week=WEEK, now=AFTER)
    return story


def reader(story, email="owner@example.com", **settled):
    return Reader.objects.create(site=story.site, email=email, **settled)


def printed(sent):
    _name, content, _kind = sent.attachments[0]
    return pypdf.PdfReader(io.BytesIO(content))


def said(sent):
    return "".join(page.extract_text() for page in printed(sent).pages)


def test_a_status_is_mailed_to_its_list_once(story):
    reader(story)
    assert [mail_out(now=AFTER), mail_out(now=AFTER)] == [1, 0]
    (sent,) = mail.outbox
    assert sent.to == ["owner@example.com"]
    assert str(WEEK) in sent.subject
    assert story.kept.digest in sent.body
    name, _content, kind = sent.attachments[0]
    assert (name, kind) == (f"clinic-{WEEK}.letter.pdf", "application/pdf")
    assert len(printed(sent).pages) >= 4


def test_a_reader_of_a_company_gets_its_edition_only(story):
    reader(story, company=story.crew.memberships.get().company)
    mail_out(now=AFTER)
    told = said(mail.outbox[0])
    assert "Progress by week" not in told
    assert "[shrkh l'bwb]" in told


def test_a_reader_gets_their_language_and_paper_and_the_digest_of_what_is_attached(story):
    reader(story, language="es", paper="a4")
    mail_out(now=AFTER)
    (sent,) = mail.outbox
    assert "Estado semanal" in sent.subject
    assert [round(side) for side in printed(sent).pages[0].mediabox[2:]] == [595, 842]  # ISO 216: 210 by 297 mm
    told = said(sent)
    assert "Progress" not in told
    assert story.kept.digest not in sent.body
    digest = sent.body.split()[-1]
    assert digest in told.replace("\n", "")
    story.site.refresh_from_db()
    assert story.site.language == "en"


def test_a_print_that_is_lost_is_made_again(story):
    reader(story)
    default_storage.delete(kept_file(story.kept, Format.LETTER).stored)
    mail_out(now=AFTER)
    assert len(printed(mail.outbox[0]).pages) >= 4
    assert story.kept.digest in mail.outbox[0].body


def test_an_address_that_is_refused_keeps_no_other_from_theirs_and_nobody_gets_it_twice(story, monkeypatch):
    for name in ("a", "bad", "z"):
        reader(story, f"{name}@example.com")
    send = EmailMessage.send

    def refuse_bad(message, *given):
        if message.to == ["bad@example.com"]:
            raise SMTPRecipientsRefused({"bad@example.com": (550, b"5.1.1 unknown")})
        return send(message, *given)

    monkeypatch.setattr(EmailMessage, "send", refuse_bad)
    assert [mail_out(now=AFTER), mail_out(now=AFTER + timedelta(hours=2))] == [2, 0]
    assert sorted(sent.to[0] for sent in mail.outbox) == ["a@example.com", "z@example.com"]
    assert Mail.objects.get(state=SendState.FAILED).address == "bad@example.com"


def test_who_left_the_list_is_not_mailed_any_more_and_who_came_later_gets_the_next(story, settings):
    leaving = reader(story)
    mail_out(now=AFTER - timedelta(days=30))  # owed, while the server keeps it for later
    assert Mail.objects.count() == 1
    Mail.objects.update(state=SendState.WAITING, next_try_at=AFTER)
    mail.outbox.clear()
    leaving.delete()
    reader(story, "late@example.com")
    assert mail_out(now=AFTER) == 0
    assert Mail.objects.get().state == SendState.WITHDRAWN


def test_without_a_mail_server_everything_waits(story, settings):
    settings.EMAIL_HOST = ""
    reader(story, gets_anchor=True)
    assert mail_out(now=AFTER) == 0
    settings.EMAIL_HOST = "mail.example"
    assert mail_out(now=AFTER) == 2


def test_a_mail_that_broke_off_is_tried_again(story, monkeypatch):
    reader(story, gets_anchor=True)

    def refuse(*given):
        raise SMTPException

    with monkeypatch.context() as broken:
        broken.setattr(EmailMessage, "send", refuse)
        assert mail_out(now=AFTER) == 0
    assert mail_out(now=AFTER + timedelta(hours=1)) == 2


def test_where_reports_are_kept_is_out_of_reach_the_mail_waits(story, monkeypatch):
    reader(story)

    def unreachable(*given):
        raise OSError("storage away")

    with monkeypatch.context() as broken:
        broken.setattr("sitetrack.reports.mailing.kept_file", unreachable)
        assert mail_out(now=AFTER) == 0
    assert mail_out(now=AFTER + timedelta(hours=1)) == 1


def test_an_anchor_is_mailed_once_a_day_and_the_record_is_held_to_it(story):
    reader(story, "keeper@example.com", gets_status=False, gets_anchor=True)
    sent = [mail_out(now=AFTER + timedelta(hours=n)) for n in (0, 3, 24)]
    assert sent == [1, 0, 1]
    line = next(line for line in mail.outbox[0].body.splitlines() if line.startswith("clinic "))
    assert check_anchor(story.site, parse_anchor(line)) is None
    assert WeeklyStatus.objects.get().owed_at == AFTER
