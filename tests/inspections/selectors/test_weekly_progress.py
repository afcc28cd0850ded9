"""Counts of a site, against a recount opening by opening from the fold's own answers."""

import importlib
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import CheckIn, Progress, StageStanding
from inspections.selectors.weekly_progress import count_site, first_time_passes, job_from
from openings.models import Opening, Site
from sitetrack.access.models import Company
from sitetrack.kit.clock import from_ms
from tests import builders as make

pytestmark = pytest.mark.django_db

LATE_EVENING = make.MONDAY.replace(hour=4)  # of Sunday in Chicago


@pytest.fixture
def worked() -> Site:
    """Two floors, two plans, two companies; one opening no longer in the schedule, one taken back."""
    site = make.site(now=make.MONDAY - make.DAY * 30)
    upper = make.floor(site, "L2", level=2, due_on=date(2026, 4, 1))
    hand = make.crew(site)
    make.work_up_to(make.opening(site), "anchor", at=LATE_EVENING - make.DAY * 8)
    make.work_up_to(make.opening(site, on=upper, plan="masonry"), "receive", at=make.MONDAY)
    for n in range(3):
        make.check_in(hand, make.opening(site, on=upper), at=make.MONDAY + make.DAY * n)
    gone, undone = make.opening(site), make.opening(site, on=upper)
    make.check_in(hand, gone)
    Opening.objects.filter(pk=gone.pk).update(in_schedule=False)
    reported = make.check_in(hand, undone)
    make.check_in(hand, undone, action="void", about=reported.pk, at=make.MONDAY + make.DAY)
    return site


def recounted(site: Site) -> tuple[Counter[Any], Counter[Any]]:
    """Needed and done, from each opening's stored fold."""
    needed: Counter[Any] = Counter()
    done: Counter[Any] = Counter()
    for progress in Progress.objects.filter(site=site, opening__in_schedule=True).select_related("opening"):
        opening = progress.opening
        for code, stage in progress.state["stages"].items():
            if stage["state"] != "not needed":
                needed[opening.plan_id, code, opening.floor_id] += 1
            if stage["state"] == "done":
                day = from_ms(stage["since"]).astimezone(site.zone).date()
                company = CheckIn.objects.get(pk=stage["fact"]).company.name
                done[day, opening.floor_id, opening.plan_id, code, company] += 1
    return needed, done


def test_the_data_bases_counts_are_those_of_a_recount(worked: Site) -> None:
    counted = count_site(worked)
    needed, done = recounted(worked)
    assert counted.needed == dict(needed)
    assert Counter({(d.day, d.floor, d.plan, d.stage, d.company): d.count for d in counted.done}) == done
    assert sum(done.values()) > 5
    assert min(day for day, *_rest in done) == date(2026, 2, 21)  # by the site's clock, not by UTC's


def test_the_job_has_the_same_sums_and_each_step_after_what_it_waits_for(worked: Site) -> None:
    counted = count_site(worked)
    job = job_from(counted, date(2026, 3, 4))
    assert job is not None
    assert job.needed.sum() == sum(counted.needed.values())
    assert job.done.sum() == sum(each.count for each in counted.done if each.day < date(2026, 3, 4))
    assert all(before < place for place, step in enumerate(job.steps) for before in step.after)
    assert {step.code for step in job.steps if step.proves} == {"trueness", "recheck"}
    assert job.floors[0] == str(make.floor(worked, "L2").pk)  # the only floor with a date


def test_before_any_work_there_is_no_job() -> None:
    site = make.site()
    make.opening(site)
    assert job_from(count_site(site), date(2026, 3, 4)) is None


def test_only_the_first_reading_that_was_not_taken_back_counts() -> None:
    site = make.site()
    first, second = make.company("Alder Frames"), make.company("Birch Frames")
    alder, birch = make.crew(site, company_=first), make.crew(site, company_=second)
    failed, mended, withdrawn = make.openings(site, 3)
    make.frame_check(alder, failed, readings=make.TWISTED_READINGS)
    make.frame_check(birch, mended)
    make.frame_check(birch, failed, at=make.MONDAY + make.DAY)
    wrong = make.frame_check(alder, withdrawn, readings=make.TWISTED_READINGS)
    make.check_in(alder, withdrawn, "trueness", "void", about=wrong.pk, at=make.MONDAY + make.DAY)
    make.frame_check(alder, withdrawn, at=make.MONDAY + make.DAY * 2)
    told = [(each.company, each.stage, each.passed, each.of) for each in first_time_passes(site)]
    assert told == [("Alder Frames", "trueness", 1, 2), ("Birch Frames", "trueness", 1, 1)]


def test_thirty_openings_are_counted_with_as_many_questions_as_three() -> None:
    costs = []
    for count in (3, 30):
        site = make.site()
        hand = make.crew(site)
        for n in range(count):
            make.frame_check(hand, make.opening(site, on=make.floor(site, f"L{n}", level=n)))
        job_from(count_site(site), date(2026, 3, 4))  # plans are read once in a process
        with CaptureQueriesContext(connection) as asked:
            job_from(count_site(site), date(2026, 3, 4))
            first_time_passes(site)
        costs.append(len(asked))
    assert costs[0] == costs[1] <= 5


def test_standings_stored_before_they_named_a_company_are_told_it(worked: Site) -> None:
    right = dict(StageStanding.objects.filter(site=worked).values_list("pk", "company"))
    assert set(right.values()) > {None}
    StageStanding.objects.filter(site=worked).update(company=None)
    migration = importlib.import_module("inspections.migrations.0009_whose_report_a_done_stage_rests_on")
    migration.tell_companies(apps, None)
    told = dict(StageStanding.objects.filter(site=worked).values_list("pk", "company"))
    assert told == right
    done = StageStanding.objects.filter(site=worked, state="done")
    assert not done.filter(company=None).exists()
    assert Company.objects.filter(pk__in=done.values("company")).count() == 2
    assert make.MONDAY - timedelta(days=9) < done.order_by("since")[0].since  # type: ignore[operator]
