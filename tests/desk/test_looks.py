"""What is new is new since one's own last visit, and stays so until one says or comes back later."""

from datetime import timedelta

import pytest
from django.test import Client

from openings.models import Site
from sitetrack.access.models import Look
from sitetrack.access.services.looks import FIRST_SPAN, LONGEST_SPAN, SAME_VISIT, mark_seen, note_look, seen_since
from tests import builders as make
from tests.desk.looking import words

pytestmark = pytest.mark.django_db
LATER = SAME_VISIT + make.MINUTE


def test_the_first_visit_tells_of_a_day(job: Site) -> None:
    who = make.supervisor(job)
    assert note_look(site_id=job.pk, who=who, now=make.MONDAY) == make.MONDAY - FIRST_SPAN


def test_a_visit_begins_where_the_last_one_ended_and_reloading_is_the_same_visit(job: Site) -> None:
    who = make.supervisor(job)
    note_look(site_id=job.pk, who=who, now=make.MONDAY)
    note_look(site_id=job.pk, who=who, now=make.MONDAY + make.MINUTE)
    back = make.MONDAY + make.MINUTE + LATER
    assert note_look(site_id=job.pk, who=who, now=back) == make.MONDAY + make.MINUTE
    assert note_look(site_id=job.pk, who=who, now=back + make.MINUTE) == make.MONDAY + make.MINUTE


def test_each_person_and_site_has_its_own(job: Site) -> None:
    who, other = make.supervisor(job), make.inspector(job)
    note_look(site_id=job.pk, who=who, now=make.MONDAY)
    assert seen_since(site_id=job.pk, who=other, now=make.MONDAY) == make.MONDAY - FIRST_SPAN
    assert Look.objects.count() == 1, "asking alone notes nothing"


def test_seen_counts_until_the_page_was_drawn_and_never_ahead_of_the_clock(job: Site) -> None:
    who = make.supervisor(job)
    mark_seen(site_id=job.pk, who=who, until=make.MONDAY - make.MINUTE, now=make.MONDAY)
    assert seen_since(site_id=job.pk, who=who, now=make.MONDAY) == make.MONDAY - make.MINUTE
    mark_seen(site_id=job.pk, who=who, until=make.MONDAY + make.DAY, now=make.MONDAY)
    assert seen_since(site_id=job.pk, who=who, now=make.MONDAY) == make.MONDAY


def test_a_long_absence_is_told_of_as_far_as_a_sheet_can(job: Site) -> None:
    who = make.supervisor(job)
    note_look(site_id=job.pk, who=who, now=make.MONDAY)
    much_later = make.MONDAY + timedelta(days=90)
    assert note_look(site_id=job.pk, who=who, now=much_later) == much_later - LONGEST_SPAN


def test_the_sheet_is_told_seen_and_can_be_new_again(job: Site, desk: Client) -> None:
    desk.get(f"/s/{job.code}/today")
    before = Look.objects.get().since
    told = desk.post(f"/s/{job.code}/today/seen", {"until": "nonsense"}, follow=True)
    assert "told as new" in words(told)
    assert Look.objects.get().since > before
    desk.post(f"/s/{job.code}/today/unseen", {"since": before.isoformat()})
    assert Look.objects.get().since == before


def test_a_page_that_refreshes_itself_is_no_look(job: Site, desk: Client) -> None:
    desk.get(f"/s/{job.code}/today")
    looked = Look.objects.get()
    desk.get(f"/s/{job.code}/today", headers={"HX-Request": "true"})
    now = Look.objects.get()
    assert (now.since, now.looked_at) == (looked.since, looked.looked_at)


def test_the_walk_goes_floor_by_floor_past_what_can_be_done(job: Site, desk: Client) -> None:
    for walk, number in ((2, "W-2"), (1, "W-1")):
        make.work_up_to(make.opening(job, number, walk=walk), "receive")
    make.work_up_to(make.opening(job, "W-9", on=make.floor(job, "L0", level=0)), "receive")
    page = desk.get(f"/s/{job.code}/today")
    assert [stop.number for stop in page.context["walk"]] == ["W-9", "W-1", "W-2"]
    painters = desk.get(f"/s/{job.code}/today?walk=painter")
    assert painters.context["walk"] == ()
    assert "Nothing to walk to" in words(painters)
