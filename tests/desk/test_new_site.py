"""A site made from the browser, so that a fresh install needs nothing else."""

from typing import Any

import pytest
from django.test import Client

from openings.models import SequencePlan, Site
from sitetrack.access.models import Company, Membership
from sitetrack.access.models.changes import Act, RecordedChange
from tests import builders as make
from tests.desk.looking import signed_in

pytestmark = pytest.mark.django_db
PLACE = "/sites/new"


@pytest.fixture
def keeper() -> Any:
    return make.person(is_staff=True)


def send(client: Client, who: Any, **typed: str) -> Any:
    given = {
        "name": "Clinic", "code": "clinic", "time_zone": "America/Denver", "units": "metric", "language": "es",
        "company": "First Builder", "supervisor": who.email,
    }  # fmt: skip
    return client.post(PLACE, given | typed)


def test_the_first_site_of_a_fresh_install(keeper: Any) -> None:
    client = signed_in(keeper)
    assert PLACE in client.get("/?all").content.decode()
    answer = send(client, keeper)
    assert answer["Location"] == "/s/clinic/schedule"
    site = Site.objects.get()
    assert (site.time_zone, site.units, site.language) == ("America/Denver", "metric", "es")
    assert SequencePlan.objects.filter(site=site, current=True).count() == 3
    standing = Membership.objects.get(site=site)
    assert (standing.person, standing.role, standing.company.name) == (keeper, "supervisor", "First Builder")
    assert RecordedChange.objects.get(site=site).act == Act.ADDED


def test_a_company_that_is_there_is_taken_and_another_may_supervise(keeper: Any) -> None:
    known, chief = make.company("First Builder"), make.person()
    assert send(signed_in(keeper), keeper, company="first builder", supervisor=chief.email)["Location"] == "/"
    assert Membership.objects.get().company == known
    assert Company.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": " "}, "name"),
        ({"code": "two words"}, "code"),
        ({"code": "taken"}, "code"),
        ({"supervisor": "nobody@example.com"}, "supervisor"),
        ({"company": " "}, "company"),
        ({"time_zone": "Denver"}, "time_zone"),
    ],
)
def test_a_refused_field_says_why_beside_it_and_nothing_is_made(keeper: Any, typed: dict[str, str], field: str) -> None:
    make.site("taken")
    companies = Company.objects.count()
    answer = send(signed_in(keeper), keeper, **typed)
    assert answer.status_code == 422
    assert f'id="id_{field}_error"' in answer.content.decode()
    assert (Site.objects.count(), Company.objects.count()) == (1, companies)


def test_who_does_not_keep_the_server_makes_no_site() -> None:
    chief = make.supervisor(make.site())
    client = signed_in(chief)
    assert client.get(PLACE).status_code == 404
    assert send(client, chief).status_code == 404
    assert PLACE not in client.get("/?all").content.decode()
    assert Site.objects.count() == 1
