"""A big status made while one watches; stopped, it leaves nothing."""

import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from sitetrack.reports import making_page
from tests import builders as make
from tests.reports.story import WEEK, job

pytestmark = pytest.mark.django_db
STEP = re.compile(r'<progress value="(\d+)" max="(\d+)">')


@pytest.fixture
def story(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(making_page, "BIG", 3)
    monkeypatch.setattr("sitetrack.reports.snapshot.CHUNK", 1)
    return job()


def watch(who, site, **asked):
    client = Client()
    client.force_login(who)
    return client, client.get(reverse("reports:weekly-json", args=[site.code, str(WEEK)]), asked)


def left(root):
    return sorted(path.name for path in (Path(root) / "reports" / "made").rglob("*") if path.is_file())


def test_the_page_grows_a_bar_and_ends_in_a_link_for_who_asked(story, tmp_path):
    client, page = watch(story.inspector, story.site)
    text = b"".join(page.streaming_content).decode()
    assert [tuple(map(int, step)) for step in STEP.findall(text)] == [(n, 4) for n in range(1, 5)]
    link = re.search(r'href="([^"]+)"', text)[1]
    file = client.get(link)
    assert b'"weekly-status"' in b"".join(file.streaming_content)
    stranger = Client()
    stranger.force_login(make.supervisor(story.site))
    assert stranger.get(link).status_code == 404
    assert client.get(link + "x").status_code == 404
    assert left(tmp_path) == [f"clinic-{WEEK}.json"]


def test_closing_the_page_leaves_nothing_half_made(story, tmp_path):
    _, page = watch(story.inspector, story.site)
    pieces = iter(page.streaming_content)
    assert b"<progress" in next(pieces) + next(pieces) + next(pieces)
    assert list((tmp_path / "reports" / "made").iterdir())
    page.close()
    assert list((tmp_path / "reports" / "made").iterdir()) == []


def test_a_small_site_is_handed_its_file_at_once(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    story = job()
    _, answer = watch(story.inspector, story.site)
    assert answer["Content-Disposition"].startswith("attachment")
    assert b"".join(answer.streaming_content)


def test_a_week_that_has_not_begun_is_refused_before_anything_is_sent(story):
    client = Client()
    client.force_login(story.inspector)
    assert client.get(reverse("reports:weekly-json", args=[story.site.code, "2999-W01"])).status_code == 404
