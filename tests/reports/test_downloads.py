"""Who may fetch a weekly status, and what they get."""

import io
import json
import zipfile

import openpyxl
import pypdf
import pytest
from django.test import Client
from django.urls import reverse

from sitetrack.access.models import Person
from sitetrack.reports.keeping import issue_status
from sitetrack.reports.models import WeeklyStatus
from tests import builders as make
from tests.reports.story import AFTER, WEEK, job

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.reports.urls")]
NAMES = ["weekly-xlsx", "weekly-csv", "weekly-json"]


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


def fetch(who, site, name="weekly-json", week=str(WEEK), **asked):
    client = Client()
    if who:
        client.force_login(who)
    return client.get(reverse(f"reports:{name}", args=[site.code, week]), asked)


def body(response):
    return b"".join(response.streaming_content)


def test_supervisor_inspector_and_viewer_get_every_form():
    story = job()
    for who in (make.supervisor(story.site), story.inspector, make.viewer(story.site)):
        workbook, csv_set, document = (fetch(who, story.site, name) for name in NAMES)
        assert "Openings" in openpyxl.load_workbook(io.BytesIO(body(workbook))).sheetnames
        assert f"clinic-{WEEK}-openings.csv" in zipfile.ZipFile(io.BytesIO(body(csv_set))).namelist()
        assert json.loads(body(document))["about"]["week"] == str(WEEK)
        for response in (workbook, csv_set, document):
            assert response["Content-Disposition"].startswith("attachment")
            assert response["Cache-Control"] == "private, no-store"


def test_a_crew_gets_its_own_companys_edition_whatever_it_asks_for():
    story = job()
    other = make.crew(story.site, "drywall")
    ours = json.loads(body(fetch(story.crew, story.site)))
    theirs = json.loads(body(fetch(other, story.site, company="شركة الأبواب")))
    assert ours["about"]["company"] == "شركة الأبواب"
    assert {
        row["company"] for name in ("checks", "holds", "changes", "late") for row in ours["tables"][name]["rows"]
    } == {"شركة الأبواب"}
    assert "openings" not in ours["tables"]
    assert "summary" not in ours["tables"]
    assert theirs["about"]["company"] != "شركة الأبواب"
    assert "شركة" not in json.dumps(theirs["tables"], ensure_ascii=False)
    assert [row["trade"] for row in theirs["tables"]["coming"]["rows"] if row["trade"] != "drywall"] == []


def test_the_edition_of_a_company_can_be_asked_for_in_every_form():
    story = job()
    for name in (*NAMES, "weekly-pdf"):
        assert body(fetch(story.inspector, story.site, name, company="شركة الأبواب"))
    assert fetch(story.inspector, story.site, company="nobody").status_code == 404


@pytest.mark.parametrize(("name", "size"), [("weekly-letter", (612, 792)), ("weekly-a4", (595, 842))])
def test_the_print_is_four_to_eight_sheets_of_the_paper_asked_for(name, size):
    story = job()
    reader = pypdf.PdfReader(io.BytesIO(body(fetch(story.inspector, story.site, name))))
    assert {tuple(round(side) for side in page.mediabox[2:]) for page in reader.pages} == {size}
    assert 4 <= len(reader.pages) <= 8


@pytest.mark.parametrize("name", NAMES)
def test_strangers_find_nothing_and_who_is_not_signed_in_is_asked_to(name):
    story = job()
    assert fetch(make.person(), story.site, name).status_code == 404
    assert fetch(make.supervisor(make.site()), story.site, name).status_code == 404
    asked = fetch(None, story.site, name)
    assert (asked.status_code, asked["Location"].split("?")[0]) == (302, "/sign-in")


@pytest.mark.parametrize(
    ("week", "words"), [("2025-W53", "W01 to W52"), ("next", "2026-W09"), ("2999-W01", "has begun")]
)
def test_a_week_there_is_not_is_refused_in_words(week, words):
    story = job()
    response = fetch(make.supervisor(story.site), story.site, week=week)
    assert response.status_code == 404
    assert words in response.content.decode()


def test_an_issued_status_is_handed_out_as_it_was_issued():
    story = job()
    kept = issue_status(site=story.site, week=WEEK, now=AFTER)
    Person.objects.filter(pk=story.crew.pk).update(name="Renamed Since")
    issued = body(fetch(story.inspector, story.site))
    assert b"Renamed Since" not in issued
    WeeklyStatus.objects.all().delete()
    assert b"Renamed Since" in body(fetch(story.inspector, story.site))
    assert len(kept.digest) == 64


def test_only_reading_is_answered():
    story = job()
    client = Client()
    client.force_login(make.supervisor(story.site))
    assert client.post(reverse("reports:weekly-json", args=[story.site.code, str(WEEK)])).status_code == 405
