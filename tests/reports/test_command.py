"""`manage.py weekly_status`."""

import io
import json
import signal
from datetime import timedelta

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from sitetrack.access.models import Person
from sitetrack.reports import making
from sitetrack.reports.keeping import issue_status
from sitetrack.reports.management.commands import weekly_status
from tests import builders as make
from tests.reports.story import AFTER, CUT_OFF, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock(monkeypatch):
    monkeypatch.setattr(weekly_status, "now", lambda: AFTER)
    before = signal.getsignal(signal.SIGTERM)
    yield
    signal.signal(signal.SIGTERM, before)


def run(out, **options):
    said, progress = io.StringIO(), io.StringIO()
    given = {"site": "clinic", "week": str(WEEK), "out": out} | options
    call_command("weekly_status", stdout=said, stderr=progress, **given)
    return said.getvalue(), progress.getvalue()


def test_it_makes_the_workbook_the_csv_files_and_the_json_and_says_where(tmp_path):
    job()
    said, progress = run(tmp_path / "new" / "folder")
    made = sorted(path.name for path in (tmp_path / "new" / "folder").iterdir())
    assert f"clinic-{WEEK}.xlsx" in made
    assert f"clinic-{WEEK}-floors.csv" in made
    assert all(name in said for name in made)
    assert "4 of 4 openings" in progress
    assert openpyxl.load_workbook(tmp_path / "new" / "folder" / f"clinic-{WEEK}.xlsx")["Summary"].max_row > 10


def test_only_the_formats_asked_for_are_made(tmp_path):
    job()
    run(tmp_path, formats="json")
    assert [path.name for path in tmp_path.iterdir()] == [f"clinic-{WEEK}.json"]
    assert json.loads((tmp_path / f"clinic-{WEEK}.json").read_text("utf-8"))["about"]["site"] == "clinic"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"site": "clinc"}, "There are: clinic"),
        (
            {"week": "2026-9"},
            "--week: '2026-9' is not a week: expected a year, -W and two digits, for example 2026-W09",
        ),
        ({"week": "2026-W53x"}, "is not a week"),
        ({"week": "2030-W01"}, "a week that has begun"),
        ({"formats": "xlsx,doc"}, "--formats: read doc; expected any of xlsx, csv, zip, json"),
        ({"formats": ","}, "--formats: read nothing"),
        ({"company": "Nobody"}, "--company: no company of this site is called 'Nobody'. There are: "),
    ],
)
def test_what_cannot_be_made_is_refused_in_words(tmp_path, options, words):
    job()
    with pytest.raises(CommandError, match=words):
        run(tmp_path, **options)
    assert list(tmp_path.iterdir()) == []


def test_a_file_where_the_folder_should_be_is_refused_in_words(tmp_path):
    job()
    (tmp_path / "taken").write_text("")
    with pytest.raises(CommandError, match="a folder is expected"):
        run(tmp_path / "taken")


def test_the_edition_of_one_company_is_made_and_compared_with_nothing_issued(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    story = job()
    other = make.crew(story.site, "drywall").memberships.get().company
    issue_status(site=story.site, week=WEEK, now=AFTER)
    _, progress = run(tmp_path / "theirs", formats="json", company=other.name.upper())
    (path,) = (tmp_path / "theirs").iterdir()
    told = json.loads(path.read_text("utf-8"))
    assert told["about"]["company"] == other.name
    assert "summary" not in told["tables"]
    assert "شركة" not in json.dumps(told["tables"], ensure_ascii=False)
    assert "Restated" not in progress


@pytest.mark.parametrize("at", ["snapshot_steps", "write_json", "write_workbook", "zip_files"])
def test_stopped_at_any_step_it_leaves_what_was_there_before(tmp_path, monkeypatch, at):
    job()
    (tmp_path / f"clinic-{WEEK}.json").write_text("last week's copy")

    def stop(*args, **named):
        raise KeyboardInterrupt

    monkeypatch.setattr(making, at, stop)
    with pytest.raises(CommandError, match="Nothing was written"):
        run(tmp_path, formats="xlsx,csv,zip,json")
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [
        (f"clinic-{WEEK}.json", "last week's copy")
    ]


def test_a_running_week_is_said_not_to_be_final(tmp_path, monkeypatch):
    job()
    monkeypatch.setattr(weekly_status, "now", lambda: CUT_OFF - timedelta(hours=3))
    assert "not final" in run(tmp_path)[1]


def test_figures_that_differ_from_those_issued_are_said_to_be_restated(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    story = job()
    issued = issue_status(site=story.site, week=WEEK, now=AFTER)
    assert "issued" not in run(tmp_path)[1]
    Person.objects.filter(pk=story.inspector.pk).update(name="Otherwise Called")
    said = run(tmp_path)[1]
    assert "The same figures as issued on" in said
    assert "Restated" not in said
    make.opening(story.site, "999")  # entered without a date, as if it had always been there
    assert "Restated" in run(tmp_path)[1]
    digest = issued.digest
    issued.refresh_from_db()
    assert issued.digest == digest
