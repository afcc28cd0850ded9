"""Who of a job sees which sheets, and of whom."""

import pytest
from django.test import Client

from openings.models import Site
from sitetrack.access.roles import Role, Trade
from tests import builders as make
from tests.desk.looking import pages_of, signed_in, words

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("role", Role.values)
def test_every_page_opens_for_everyone_of_the_site(job: Site, role: str) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    make.alert(opening)
    client = signed_in(make.member(job, role, trades=[Trade.FRAME_CREW]))
    for page in pages_of(job, opening):
        answer = client.get(page)
        assert answer.status_code == 200, page
        assert b"title-block" in answer.content


def test_a_stranger_finds_nothing(job: Site) -> None:
    opening = make.opening(job)
    elsewhere = make.site("depot")
    client = signed_in(make.supervisor(elsewhere))
    for page in pages_of(job, opening):
        assert client.get(page).status_code == 404, page
    assert (
        client.post(f"/s/{job.code}/openings/{opening.number}", {"stage": "set", "action": "start"}).status_code == 404
    )


def test_whoever_is_not_signed_in_is_asked_to(job: Site) -> None:
    answer = Client().get(f"/s/{job.code}/today")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")


def test_another_sites_floor_is_not_reached_through_ones_own(job: Site, desk: Client) -> None:
    floor = make.floor(make.site("depot"))
    assert desk.get(f"/s/{job.code}/floors/{floor.pk}").status_code == 404


def test_a_crew_reads_its_own_companys_check_ins_only(job: Site) -> None:
    opening = make.opening(job)
    make.check_in(make.crew(job), opening, note="ours to know")
    other = signed_in(make.crew(job, Trade.DRYWALL))
    assert "ours to know" not in words(other.get(f"/s/{job.code}/openings/{opening.number}"))


def test_a_viewer_is_offered_no_form(job: Site) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "receive")
    make.alert(opening)
    client = signed_in(make.viewer(job))
    sheet = client.get(f"/s/{job.code}/openings/{opening.number}?do=finish&stage=match").content.decode()
    assert 'name="action"' not in sheet
    assert "Acknowledge" not in client.get(f"/s/{job.code}/alerts").content.decode()
