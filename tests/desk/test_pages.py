"""The supervisor's pages, as the people of a job see them."""

import pytest
from django.test import Client

from openings.models import Opening, Site
from sitetrack.access.roles import Trade
from tests import builders as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Site:
    return make.site("clinic")


@pytest.fixture
def desk(job: Site) -> Client:
    client = Client()
    client.force_login(make.supervisor(job))
    return client


def pages_of(job: Site, opening: Opening) -> list[str]:
    return [
        f"/s/{job.code}/today",
        f"/s/{job.code}/floors/{opening.floor_id}",
        f"/s/{job.code}/floors/{opening.floor_id}?as=list",
        f"/s/{job.code}/openings/{opening.number}",
        f"/s/{job.code}/alerts",
        f"/s/{job.code}/alerts?show=closed",
        f"/s/{job.code}/weekly",
        f"/s/{job.code}/find?number=zzz",
    ]


def test_every_page_opens_for_the_supervisor(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    make.alert(opening)
    for page in pages_of(job, opening):
        answer = desk.get(page)
        assert answer.status_code == 200, page
        assert b"title-block" in answer.content
