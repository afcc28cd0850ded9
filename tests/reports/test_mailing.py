"""Who gets what by mail, and once. Outside check: pypdf opens what is attached."""

import io
from datetime import timedelta
from smtplib import SMTPException

import pypdf
import pytest
from django.core import mail

from inspections.evidence.verifying import check_anchor, parse_anchor
from sitetrack.reports import mailing
from sitetrack.reports.keeping import issue_status
from sitetrack.reports.mailing import mail_anchors, mail_statuses
from sitetrack.reports.models import Reader
from tests.reports.story import AFTER, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture
def story(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.EMAIL_HOST = "mail.example"
    story = job()
    story.kept = issue_status(site=story.site, week=WEEK, now=AFTER)
    return story


def test_a_status_is_mailed_to_its_list_once(story):
    Reader.objects.create(site=story.site, email="owner@example.com")
    assert [mail_statuses(now=AFTER), mail_statuses(now=AFTER)] == [1, 0]
    (sent,) = mail.outbox
    assert sent.to == ["owner@example.com"]
    assert str(WEEK) in sent.subject
    assert story.kept.digest in sent.body
    name, content, kind = sent.attachments[0]
    assert (name, kind) == (f"clinic-{WEEK}.letter.pdf", "application/pdf")
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages) >= 4


def test_a_reader_of_a_company_gets_its_edition_only(story):
    firm = story.crew.memberships.get().company
    Reader.objects.create(site=story.site, email="firm@example.com", company=firm)
    mail_statuses(now=AFTER)
    _, content, _ = mail.outbox[0].attachments[0]
    said = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    assert "Progress by week" not in said
    assert "[shrkh l'bwb]" in said


def test_without_a_mail_server_everything_waits(story, settings):
    settings.EMAIL_HOST = ""
    Reader.objects.create(site=story.site, email="owner@example.com", gets_anchor=True)
    assert (mail_statuses(now=AFTER), mail_anchors(now=AFTER)) == (0, 0)
    settings.EMAIL_HOST = "mail.example"
    assert (mail_statuses(now=AFTER), mail_anchors(now=AFTER)) == (1, 1)


def test_a_refused_mail_is_tried_again(story, monkeypatch):
    Reader.objects.create(site=story.site, email="owner@example.com", gets_anchor=True)

    def refuse(*given):
        raise SMTPException

    with monkeypatch.context() as broken:
        broken.setattr(mailing.EmailMessage, "send", refuse)
        assert (mail_statuses(now=AFTER), mail_anchors(now=AFTER)) == (0, 0)
    assert (mail_statuses(now=AFTER), mail_anchors(now=AFTER)) == (1, 1)


def test_an_anchor_is_mailed_once_a_day_and_the_record_is_held_to_it(story):
    Reader.objects.create(site=story.site, email="keeper@example.com", gets_status=False, gets_anchor=True)
    sent = [mail_anchors(now=AFTER + timedelta(hours=n)) for n in (0, 3, 24)]
    assert sent == [1, 0, 1]
    line = next(line for line in mail.outbox[0].body.splitlines() if line.startswith("clinic "))
    assert check_anchor(story.site, parse_anchor(line)) is None
    assert mail_statuses(now=AFTER) == 1
    assert len(mail.outbox) == 2
