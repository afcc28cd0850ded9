"""The weekly sheet counts as the site does, and says which weeks were issued."""

import json
import re
from datetime import datetime, timedelta
from html import unescape

import pytest
from django.test import Client

from openings.models import Site
from sitetrack.reports.keeping import issue_status
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def at(monkeypatch):
    return lambda moment: monkeypatch.setattr("sitetrack.desk.sheets.read_clock", lambda: moment)


def test_an_issued_week_is_told_with_its_digest_and_the_open_page_follows(job: Site, desk: Client, at) -> None:
    make.opening(job, "101")
    at(make.MONDAY + timedelta(days=9))
    address = f"/s/{job.code}/weekly"
    before = desk.get(address, headers={"HX-Request": "true"})
    assert "not issued" in words(before)
    asked_again = {"HX-Request": "true", "If-None-Match": before["ETag"]}
    assert desk.get(address, headers=asked_again).status_code == 304
    moment = make.MONDAY + timedelta(days=9)
    kept = issue_status(site=job, week=clock_of(job).latest_closed(moment), now=moment)
    page = desk.get(address, headers=asked_again)
    assert kept.digest in page.content.decode()


def test_a_week_is_shown_by_the_sites_own_cut_off(job: Site, desk: Client, at) -> None:
    Site.objects.filter(pk=job.pk).update(report_weekday=5, report_hour=17, time_zone="America/New_York")
    at(datetime.fromisoformat("2026-03-12T12:00:00+00:00"))
    # Friday 17:00 closes the week. Daylight saving time began on 8 March (Energy Policy Act of 2005); the hour stays.
    assert "Fri 6 Mar 17:00 – Fri 13 Mar 2026 17:00" in words(desk.get(f"/s/{job.code}/weekly"))


def test_a_crew_is_not_told_of_what_was_issued_of_the_whole_site(job: Site, at) -> None:
    make.opening(job, "101")
    moment = make.MONDAY + timedelta(days=9)
    at(moment)
    kept = issue_status(site=job, week=clock_of(job).latest_closed(moment), now=moment)
    crew = signed_in(make.crew(job))
    assert kept.digest[:12] not in crew.get(f"/s/{job.code}/weekly").content.decode()


def test_a_supervisor_issues_a_closed_week_by_a_button_once_its_figures_are_all_there(
    job: Site, desk: Client, at, monkeypatch
) -> None:
    make.opening(job, "101")
    clock = clock_of(job)
    week = clock.latest_closed(make.MONDAY + timedelta(days=9))
    moment = clock.cut_off(week) + timedelta(minutes=1)
    monkeypatch.setattr("sitetrack.reports.tasks.now", lambda: moment)
    button = f"/s/{job.code}/weekly/{week}/issue"
    at(moment)
    assert button not in desk.get(f"/s/{job.code}/weekly").content.decode()
    assert "can be issued from" in words(desk.post(button, follow=True))
    assert not WeeklyStatus.objects.exists()
    moment += timedelta(minutes=10)
    at(moment)
    assert button in desk.get(f"/s/{job.code}/weekly").content.decode()
    assert f"{week} is issued" in words(desk.post(button, follow=True))
    assert WeeklyStatus.objects.get().iso_week == str(week)
    assert button not in desk.get(f"/s/{job.code}/weekly").content.decode()


def test_only_a_supervisor_is_offered_the_button(job: Site, at) -> None:
    make.opening(job, "101")
    moment = make.MONDAY + timedelta(days=9)
    at(moment)
    week = clock_of(job).latest_closed(moment)
    for who in (make.inspector(job), make.viewer(job), make.crew(job)):
        browser = signed_in(who)
        assert "/issue" not in browser.get(f"/s/{job.code}/weekly").content.decode()
        assert browser.post(f"/s/{job.code}/weekly/{week}/issue").status_code == 403
    assert not WeeklyStatus.objects.exists()


def test_the_edition_of_a_company_is_chosen_for_every_file_of_the_page(job: Site, desk: Client, at) -> None:
    firm = make.company("Larch & Sons")
    crew = make.crew(job, company_=firm)
    make.check_in(crew, make.opening(job, "101"))
    at(make.MONDAY + timedelta(days=9))
    page = desk.get(f"/s/{job.code}/weekly?company=Larch+%26+Sons").content.decode()
    links = [unescape(link) for link in re.findall(r'href="([^"]+/weekly/[^"]+)"', page)]
    assert links
    assert all(link.endswith("?company=Larch+%26+Sons") for link in links)
    edition = json.loads(b"".join(desk.get(next(link for link in links if ".json" in link)).streaming_content))
    assert edition["about"]["company"] == "Larch & Sons"
    assert ".json?company" not in desk.get(f"/s/{job.code}/weekly?company=Nobody").content.decode()
    assert "Larch" not in signed_in(make.crew(job)).get(f"/s/{job.code}/weekly").content.decode()
