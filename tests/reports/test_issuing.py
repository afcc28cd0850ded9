"""Issuing a status once, whole, and by the clock."""

import hashlib
from datetime import timedelta
from pathlib import Path

import pytest

from sitetrack.reports import tasks
from sitetrack.reports.keeping import MOST_CAUGHT_UP, SETTLING, issue_status, weeks_owed
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.week import Week
from tests import builders as make
from tests.reports.story import AFTER, CUT_OFF, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


def owed(site, now):
    return [str(week) for week in weeks_owed(site, now)]


def test_a_status_is_owed_once_its_cut_off_has_passed_and_settled():
    site = job().site
    assert owed(site, CUT_OFF - timedelta(seconds=1)) == ["2026-W09"]
    assert owed(site, CUT_OFF + SETTLING - timedelta(seconds=1)) == ["2026-W09"]
    assert owed(site, CUT_OFF + SETTLING) == ["2026-W10"]


def test_weeks_missed_while_the_workers_were_away_are_made_up_for_up_to_a_bound():
    site = job().site
    issue_status(site=site, week=WEEK, now=AFTER)
    assert owed(site, AFTER) == []
    assert owed(site, AFTER + timedelta(weeks=2)) == ["2026-W11", "2026-W12"]
    assert len(owed(site, AFTER + timedelta(weeks=40))) == MOST_CAUGHT_UP


def test_a_site_without_openings_owes_nothing():
    assert owed(make.site(), AFTER) == []


def test_the_job_issues_what_is_owed_and_running_it_again_changes_nothing(monkeypatch, media):
    site = job().site
    monkeypatch.setattr(tasks, "now", lambda: AFTER)
    tasks.weekly_status_due()
    (kept,) = WeeklyStatus.objects.all()
    assert (kept.site, kept.iso_week, kept.cut_off, kept.made_at) == (site, "2026-W10", CUT_OFF, AFTER)
    before = {path: path.stat().st_mtime_ns for path in media.rglob("*")}
    tasks.weekly_status_due()
    tasks.make_weekly_status(site.pk, "2026-W10")
    assert WeeklyStatus.objects.get() == kept
    assert {path: path.stat().st_mtime_ns for path in media.rglob("*")} == before


def test_issued_files_stand_together_with_their_digests(media):
    site = job().site
    kept = issue_status(site=site, week=WEEK, now=AFTER)
    folder = media / "reports" / site.code / str(WEEK)
    assert sorted(path.name for path in folder.iterdir()) == sorted(Path(f["name"]).name for f in kept.files.values())
    assert set(kept.files) == {"xlsx", "zip", "json", "letter.pdf", "a4.pdf"}
    for listed in kept.files.values():
        content = (media / listed["name"]).read_bytes()
        assert (len(content), hashlib.sha256(content).hexdigest()) == (listed["bytes"], listed["sha256"])
    assert kept.files["json"]["sha256"] == kept.digest


def test_files_left_by_a_worker_that_died_are_replaced(media):
    site = job().site
    folder = media / "reports" / site.code / str(WEEK)
    folder.mkdir(parents=True)
    half = folder / f"{site.code}-{WEEK}.json"
    half.write_text("half")
    kept = issue_status(site=site, week=WEEK, now=AFTER)
    assert kept.files["json"]["name"].endswith(half.name)
    assert hashlib.sha256(half.read_bytes()).hexdigest() == kept.digest
    assert len(list(folder.iterdir())) == len(kept.files)


def test_a_running_week_is_not_issued(media):
    site = job().site
    with pytest.raises(ValueError, match="still running"):
        issue_status(site=site, week=WEEK, now=CUT_OFF - timedelta(hours=1))
    assert not WeeklyStatus.objects.exists()
    assert not (media / "reports").exists()


def test_the_first_week_of_a_year_follows_its_week_53():
    site = job().site
    after = AFTER.replace(year=2027, month=1, day=12)
    issue_status(site=site, week=Week(2026, 52), now=after)
    assert owed(site, after) == ["2026-W53", "2027-W01"]
