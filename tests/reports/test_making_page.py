"""A big file made while one watches; stopped, it leaves nothing."""

import re
import tempfile
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse

from sitetrack.reports import evidence_views, making_page
from sitetrack.reports.making_page import forget_made
from tests import builders as make
from tests.reports.story import AFTER, WEEK, job

pytestmark = pytest.mark.django_db
STEP = re.compile(r'<progress value="(\d+)" max="(\d+)">')


@pytest.fixture
def scratch(tmp_path, monkeypatch):
    """Where this test's scratch folders are made, alone."""
    folder = tmp_path / "scratch"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


@pytest.fixture
def story(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path / "media"
    monkeypatch.setattr(making_page, "BIG", 3)
    monkeypatch.setattr(evidence_views, "MANY_CHECKS", 2)
    monkeypatch.setattr("sitetrack.reports.snapshot.CHUNK", 1)
    return job()


def weekly(site):
    return reverse("reports:weekly-json", args=[site.code, str(WEEK)])


def evidence(site):
    return reverse("reports:evidence-pdf", args=[site.code])


BOTH = pytest.mark.parametrize(("address", "steps"), [(weekly, 4), (evidence, 2)])


def watch(who, address):
    client = Client()
    client.force_login(who)
    return client, client.get(address)


def files_under(folder):
    return sorted(path.name for path in Path(folder).rglob("*") if path.is_file())


@BOTH
def test_the_page_grows_a_bar_and_ends_in_a_link_for_who_asked(story, tmp_path, scratch, address, steps):
    client, page = watch(story.inspector, address(story.site))
    text = b"".join(page.streaming_content).decode()
    assert [tuple(map(int, step)) for step in STEP.findall(text)] == [(n, steps) for n in range(1, steps + 1)]
    assert "style=" not in text
    assert "<style" not in text
    link = re.search(r'href="(/reports/made/[^"]+)"', text)[1]
    file = client.get(link)
    name = re.search(r'filename="([^"]+)"', file["Content-Disposition"])[1]
    assert b"".join(file.streaming_content)[:5] in (b'{"abo', b"%PDF-")
    stranger = Client()
    stranger.force_login(make.supervisor(story.site))
    assert stranger.get(link).status_code == 404
    assert client.get(link + "x").status_code == 404
    assert files_under(tmp_path / "media") == [name]
    assert list(scratch.iterdir()) == []


@BOTH
def test_closing_the_page_leaves_nothing_half_made(story, tmp_path, scratch, address, steps):
    _, page = watch(story.inspector, address(story.site))
    pieces = iter(page.streaming_content)
    assert b"<progress" in next(pieces) + next(pieces)
    assert list(scratch.iterdir())
    page.close()
    assert list(scratch.iterdir()) == []
    assert files_under(tmp_path / "media") == []


def test_what_was_made_goes_after_a_day(story, settings):
    kept = {}
    for ago in (0, 1, 2, 30):
        day = (AFTER - timedelta(days=ago)).date()
        kept[ago] = default_storage.save(f"reports/made/{day}-{ago:016x}/x.pdf", ContentFile(b"x"))
    default_storage.save("reports/made/0123456789abcdef/old.pdf", ContentFile(b"x"))
    forget_made(now=AFTER)
    assert [ago for ago, name in kept.items() if default_storage.exists(name)] == [0, 1]
    assert len(default_storage.listdir("reports/made")[0]) == 2


def test_nothing_made_yet_is_nothing_to_let_go(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    forget_made(now=AFTER)


def test_a_small_site_is_handed_its_file_at_once(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    story = job()
    _, answer = watch(story.inspector, weekly(story.site))
    assert answer["Content-Disposition"].startswith("attachment")
    assert b"".join(answer.streaming_content)


def test_a_week_that_has_not_begun_is_refused_before_anything_is_sent(story):
    _, answer = watch(story.inspector, reverse("reports:weekly-json", args=[story.site.code, "2999-W01"]))
    assert answer.status_code == 404
