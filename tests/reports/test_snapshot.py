"""A status says how things stood at its cut-off, whatever arrived or was done since."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import KeptAside
from inspections.services.alerts import acknowledge, close
from openings.models import ScheduleChange
from sitetrack.reports.snapshot import take_snapshot
from sitetrack.reports.week import WeekError
from tests import builders as make
from tests.reports.story import AFTER, BEFORE, CUT_OFF, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture
def status(tmp_path_factory):
    """Takes the status of a week; gives its rows by table."""

    def take(site, week=WEEK, now=AFTER + timedelta(days=30)):
        snapshot = take_snapshot(site=site, week=week, now=now, folder=tmp_path_factory.mktemp("rows"))
        return {table.name: list(snapshot.rows(table)) for table in snapshot.tables}

    return take


def figures(tables, column="this_week"):
    return {row["figure"]: row[column] for row in tables["summary"]}


def test_the_story_is_told_with_its_figures(status):
    story = job()
    tables = status(story.site)
    now = figures(tables)
    assert now["openings"] == len(tables["openings"]) == 4
    assert now["on_hold"] == now["holds_open"] == 1
    assert (now["checks_read"], now["checks_passed"], now["checks_failed"]) == (4, 3, 1)
    assert [row["opening"] for row in tables["late"]] == ["201"]
    (twist,) = [row for row in tables["checks"] if row["item"] == "twist" and row["item_verdict"] == "fail"]
    # 3/16 in read against 1/16 in allowed: 1/8 in over.
    assert (twist["value"], twist["limit"], twist["margin"], twist["margin_number"]) == (
        '3/16"',
        '± 1/16"',
        '−1/8"',
        -0.125,
    )
    (hold,) = tables["holds"]
    assert (hold["reason"], hold["days"]) == ("-2+3 wrong hand", (CUT_OFF - story.hold.corrected_at).days)


def test_late_check_ins_count_in_the_week_they_were_received_and_are_marked(status):
    story = job()
    before = status(story.site)
    happened, received = CUT_OFF - timedelta(hours=2), CUT_OFF + timedelta(hours=2)
    make.check_in(story.crew, story.untouched, "receive", "finish", at=happened, now=received)
    assert status(story.site) == before
    following = status(story.site, WEEK.shifted(1))
    assert [(row["opening"], row["stage"]) for row in following["late"]] == [("202", "receive")]
    assert [(row["opening"], row["late"]) for row in following["changes"]] == [("202", True)]
    assert figures(following, "last_week") == figures(before)


def test_a_check_in_received_at_the_very_cut_off_counts_in_the_next_week(status):
    story = job()
    before = status(story.site)
    make.check_in(story.crew, story.untouched, "receive", "finish", at=CUT_OFF)
    assert status(story.site) == before
    assert figures(status(story.site, WEEK.shifted(1)))["check_ins"] == 1
    make.check_in(story.crew, story.untouched, "match", "start", at=CUT_OFF - timedelta(microseconds=1))
    assert figures(status(story.site))["check_ins"] == figures(before)["check_ins"] + 1


def test_what_became_of_an_alert_after_the_cut_off_is_not_told_before(status):
    story = job()
    alert = make.alert(story.read, opened_at=make.MONDAY, happened_at=make.MONDAY)
    before = status(story.site)
    acknowledge(alert=alert, who=make.supervisor(story.site), now=AFTER)
    close(alert=alert, who=make.supervisor(story.site), why="board off", now=AFTER)
    assert status(story.site) == before
    following = status(story.site, WEEK.shifted(1))
    assert ("person", "board off") in [(row["standing"], row["closed_why"]) for row in following["alerts"]]
    assert figures(following)["alerts_critical"] == 0
    assert figures(following, "last_week")["alerts_critical"] == 1
    assert "board off" not in [row["closed_why"] for row in status(story.site, WEEK.shifted(2))["alerts"]]


def test_a_check_taken_back_is_shown_and_not_counted(status):
    story = job()
    at = story.failed.corrected_at + timedelta(hours=3)
    make.check_in(story.crew, story.read, "trueness", "void", at=at, about=story.failed.pk)
    tables = status(story.site)
    assert figures(tables)["checks_failed"] == 0
    assert {row["taken_back"] for row in tables["checks"] if row["verdict"] == "fail"} == {True}


def test_a_released_hold_is_listed_in_the_week_of_its_release_and_not_after(status):
    story = job()
    make.check_in(story.crew, story.held, "receive", "release", at=AFTER, about=story.hold.pk, note="right hand came")
    assert figures(status(story.site))["holds_open"] == 1
    (hold,) = status(story.site, WEEK.shifted(1))["holds"]
    assert (hold["released_why"], figures(status(story.site, WEEK.shifted(1)))["holds_open"]) == ("right hand came", 0)
    assert status(story.site, WEEK.shifted(2))["holds"] == []


def test_an_opening_counts_from_the_week_in_which_the_schedule_listed_it(status):
    story = job()
    before = status(story.site)
    added = make.opening(story.site, "203", on=story.high)
    ScheduleChange.objects.create(
        site=story.site, opening=added, at=AFTER, by=make.supervisor(story.site), kind=ScheduleChange.Kind.ADDED
    )
    assert figures(status(story.site)) == figures(before)
    following = status(story.site, WEEK.shifted(1))
    assert figures(following, "change")["openings"] == 1
    assert [(row["was"], row["now"]) for row in following["changes"]] == [("not listed", "listed")]


def test_check_ins_kept_aside_are_counted_until_they_are_placed(status):
    story = job()
    make.record(story.crew, make.report(make.Opening(number="999"), at=make.MONDAY), of=story.site, now=make.MONDAY)
    assert figures(status(story.site))["aside_waiting"] == 1
    KeptAside.objects.update(settled="placed", settled_at=AFTER)
    assert figures(status(story.site))["aside_waiting"] == 1
    assert figures(status(story.site, WEEK.shifted(1)))["aside_waiting"] == 0


def test_a_running_week_is_told_up_to_now_and_says_so(tmp_path):
    story = job()
    snapshot = take_snapshot(site=story.site, week=WEEK, now=make.MONDAY + timedelta(hours=1), folder=tmp_path)
    assert not snapshot.header["final"]
    assert "not final" in snapshot.header["standing"]
    with pytest.raises(WeekError, match="has begun"):
        take_snapshot(site=story.site, week=WEEK, now=BEFORE, folder=tmp_path)


def test_a_site_without_openings_has_a_status_of_noughts(status):
    tables = status(make.site("empty"))
    assert set(figures(tables).values()) == {0}
    assert tables["openings"] == []


def test_the_number_of_queries_grows_with_chunks_and_not_with_openings(status, django_assert_num_queries):
    site = job().site
    status(site)  # plans are read once in a process
    with CaptureQueriesContext(connection) as few:
        status(site)
    make.openings(site, 40)
    with django_assert_num_queries(len(few)):
        status(site)
    assert len(few) <= 20
