"""A program has a status made and fetches its files with its own token, no page in between."""

import hashlib
from datetime import timedelta

import pytest

from sitetrack.access.models.changes import RecordedChange
from sitetrack.reports import api
from sitetrack.reports.keeping import SETTLING, weeks_owed
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.tasks import weekly_status_due
from tests import builders as make
from tests.published_shapes import check_problem
from tests.reports.story import AFTER, CUT_OFF, WEEK, job

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/reports"


@pytest.fixture(autouse=True)
def clock(settings, tmp_path, monkeypatch):
    """The moment at which the status is asked for; told apart from the one of tokens."""
    settings.MEDIA_ROOT = tmp_path / "media"
    at = {"now": AFTER}
    monkeypatch.setattr(api, "now", lambda: at["now"])
    monkeypatch.setattr("sitetrack.reports.tasks.now", lambda: at["now"])
    return at


@pytest.fixture
def site():
    return job().site


def program(site, who):
    return make.client(token=make.device(site, who, kind="program")[1])


def wish(site, week=WEEK):
    return {"site": str(site.pk), "week": str(week)}


def test_a_program_has_a_week_made_and_fetches_what_was_issued_byte_by_byte(site):
    api_ = program(site, make.supervisor(site))
    owed = api_.post(ADDRESS, wish(site))
    assert owed.status_code == 202
    (listed,) = api_.get(owed.json()["address"]).json()["results"]
    assert listed["week"] == str(WEEK)
    assert set(listed["files"]) == {"xlsx", "zip", "json", "letter.pdf", "a4.pdf"}
    for form, told in listed["files"].items():
        file = api_.get(f"{ADDRESS}/{listed['id']}/files/{form}", headers={"Accept": "application/pdf"})
        content = b"".join(file.streaming_content)
        assert (len(content), hashlib.sha256(content).hexdigest()) == (told["bytes"], told["sha256"])
        assert file["Content-Disposition"].startswith("attachment")
    check_problem(api_.get(f"{ADDRESS}/{listed['id']}/files/doc"), 404)


def test_asked_again_it_answers_the_one_kept_and_the_trail_has_one_row(site):
    api_ = program(site, make.supervisor(site))
    api_.post(ADDRESS, wish(site))
    again = api_.post(ADDRESS, wish(site))
    assert (again.status_code, again.json()["id"]) == (200, str(WeeklyStatus.objects.get().pk))
    assert list(RecordedChange.objects.filter(kind="report").values_list("named", flat=True)) == [str(WEEK)]


def test_a_week_is_not_made_before_its_cut_off_has_settled(site, clock):
    api_ = program(site, make.supervisor(site))
    for at in (CUT_OFF - timedelta(days=2), CUT_OFF, CUT_OFF + SETTLING - timedelta(seconds=1)):
        clock["now"] = at
        assert "2026-03-09T10:05:00" in check_problem(api_.post(ADDRESS, wish(site)), 409)["detail"]
    assert not WeeklyStatus.objects.exists()
    clock["now"] = CUT_OFF + SETTLING
    assert api_.post(ADDRESS, wish(site)).status_code == 202
    assert WeeklyStatus.objects.get().iso_week == str(WEEK)


@pytest.mark.parametrize("week", ["2026-W54", "next", "2999-W01"])
def test_what_is_no_week_is_refused_with_an_example(site, week):
    told = check_problem(program(site, make.supervisor(site)).post(ADDRESS, wish(site, week)), 422)
    assert told["errors"][0]["field"] == "week"


def test_only_a_supervisor_has_one_made_and_no_crew_fetches_one(site):
    program(site, make.supervisor(site)).post(ADDRESS, wish(site))
    kept = WeeklyStatus.objects.get()
    for who, making, fetching in (
        (make.inspector(site), 403, 200), (make.viewer(site), 403, 200), (make.crew(site), 403, 404),
        (make.supervisor(make.site()), 404, 404),
    ):  # fmt: skip
        api_ = make.client(who)
        assert api_.post(ADDRESS, wish(site)).status_code == making
        answer = api_.get(f"{ADDRESS}/{kept.pk}/files/json")
        assert (answer.status_code, len(b"".join(answer)) > 1000) == (fetching, fetching == 200)


def test_what_was_asked_for_is_owed_though_the_job_is_lost(site, monkeypatch):
    """A broker that keeps nothing: the asking itself is kept, and the next round of the clock makes it."""
    earlier = WEEK.shifted(-1)  # of a site that never issued one, only the latest week is owed by itself
    monkeypatch.setattr(api, "enqueue", lambda *job: None)
    api_ = program(site, make.supervisor(site))
    for _ in range(2):
        assert api_.post(ADDRESS, wish(site, earlier)).status_code == 202
    assert RecordedChange.objects.filter(kind="report").count() == 1
    weekly_status_due()
    assert set(WeeklyStatus.objects.values_list("iso_week", flat=True)) == {str(earlier), str(WEEK)}
    assert list(weeks_owed(site, AFTER)) == []
