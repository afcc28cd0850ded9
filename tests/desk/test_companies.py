"""Companies of a site: listed, renamed, given trades and taken off, by its supervisor; all of it on the record."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from openings.models import Site
from sitetrack.access.models import Company, RecordedChange, SiteCompany
from sitetrack.access.roles import Role, Trade
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def base(job: Site) -> str:
    return f"/s/{job.code}/companies"


def add(client: Client, job: Site, name: str, *trades: str) -> Company:
    assert client.post(f"{base(job)}/new", {"name": name, "trade": trades}).status_code == 302
    found: Company = Company.objects.get(name=name)
    return found


def recorded(job: Site) -> list[tuple[str, str, list[list[str]]]]:
    rows = RecordedChange.objects.filter(site=job, kind="company").order_by("at", "id")
    return [(row.act, row.named, row.differences) for row in rows]


def test_a_company_is_listed_before_any_of_its_people_comes(job: Site, desk: Client) -> None:
    add(desk, job, "Juniper Drywall", Trade.DRYWALL)
    page = words(desk.get(base(job)))
    assert "Juniper Drywall" in page
    assert "(nobody yet)" in page
    assert recorded(job) == [("added", "Juniper Drywall", [["trades", "", "drywall"]])]


def test_who_is_here_and_what_they_do_is_told_beside_each(job: Site, desk: Client) -> None:
    company = add(desk, job, "Juniper Drywall")
    hand = make.crew(job, Trade.PAINTER, company_=company)
    page = words(desk.get(base(job)))
    assert hand.name in page
    assert str(Trade.PAINTER.label) in page
    assert "(nobody yet)" not in page


def test_a_company_is_renamed_and_given_trades(job: Site, desk: Client) -> None:
    company = add(desk, job, "Juniper Drywall")
    desk.post(f"{base(job)}/{company.pk}", {"name": "Juniper  Boards ", "trade": ["drywall", "painter"]})
    company.refresh_from_db()
    assert company.name == "Juniper Boards"
    assert SiteCompany.objects.get(company=company).trades == ["drywall", "painter"]
    assert recorded(job)[1:] == [
        ("changed", "Juniper Boards", [["name", "Juniper Drywall", "Juniper Boards"]]),
        ("changed", "Juniper Boards", [["trades", "", "drywall, painter"]]),
    ]


def test_kept_as_it_was_it_leaves_no_record(job: Site, desk: Client) -> None:
    company = add(desk, job, "Juniper Drywall", "drywall")
    desk.post(f"{base(job)}/{company.pk}", {"name": "Juniper Drywall", "trade": "drywall"})
    assert len(recorded(job)) == 1


def test_the_same_name_on_another_site_is_the_same_company_and_not_one_persons_to_rename(
    job: Site, desk: Client
) -> None:
    elsewhere = make.site()
    there = make.crew(elsewhere, "drywall", company_=make.company("Juniper Drywall")).memberships.get().company
    assert desk.post(f"{base(job)}/new", {"name": "juniper DRYWALL"}).status_code == 302
    assert SiteCompany.objects.get(site=job).company == there
    refused = desk.post(f"{base(job)}/{there.pk}", {"name": "Other", "trade": "drywall"})
    assert refused.status_code == 403
    assert 'value="Other"' in refused.content.decode(), "what was typed is not lost"
    there.refresh_from_db()
    assert there.name == "Juniper Drywall"
    assert SiteCompany.objects.get(site=job).trades == [], "all or nothing"


def test_a_new_name_is_recorded_on_every_site_that_knows_the_company(job: Site, desk: Client) -> None:
    second = make.site(who=make.supervisor(job))
    company = add(desk, job, "Juniper Drywall")
    make.crew(second, "drywall", company_=company)
    desk.post(f"{base(job)}/{company.pk}", {"name": "Juniper Boards"})
    assert recorded(second) == [("changed", "Juniper Boards", [["name", "Juniper Drywall", "Juniper Boards"]])]


@pytest.mark.parametrize("name", ["", "  ", "x" * 121, "Maple Frames"])
def test_a_name_that_will_not_do_is_refused_beside_its_field(job: Site, desk: Client, name: str) -> None:
    make.company("Maple Frames")
    company = add(desk, job, "Juniper Drywall")
    answer = desk.post(f"{base(job)}/{company.pk}", {"name": name})
    assert answer.status_code == 422
    assert f'id="name-{company.pk}-wrong"' in answer.content.decode()


def test_one_on_the_list_already_and_an_unknown_trade_are_refused(job: Site, desk: Client) -> None:
    add(desk, job, "Juniper Drywall")
    assert desk.post(f"{base(job)}/new", {"name": "Juniper Drywall"}).status_code == 409
    assert desk.post(f"{base(job)}/new", {"name": "Oak", "trade": "plumbing"}).status_code == 422
    assert not Company.objects.filter(name="Oak").exists()


def test_it_is_taken_off_the_list_once_nobody_of_it_is_here(job: Site, desk: Client) -> None:
    company = add(desk, job, "Juniper Drywall")
    make.crew(job, "drywall", company_=company)
    desk.post(f"{base(job)}/{company.pk}/remove")
    assert SiteCompany.objects.filter(company=company).exists()
    company.memberships.update(ended_at=make.MONDAY)
    desk.post(f"{base(job)}/{company.pk}/remove")
    assert not SiteCompany.objects.filter(company=company).exists()
    assert recorded(job)[-1][0] == "removed"


@pytest.mark.parametrize(("role", "reads"), [(Role.INSPECTOR, 200), (Role.VIEWER, 200), (Role.CREW, 403)])
def test_others_read_or_not_and_change_nothing(job: Site, desk: Client, role: str, reads: int) -> None:
    company = add(desk, job, "Juniper Drywall")
    client = signed_in(make.member(job, role, trades=["drywall"]))
    assert client.get(base(job)).status_code == reads
    assert client.post(f"{base(job)}/new", {"name": "Mine"}).status_code == 403
    assert client.post(f"{base(job)}/{company.pk}", {"name": "Mine"}).status_code == 403
    client.post(f"{base(job)}/{company.pk}/remove")
    assert set(SiteCompany.objects.values_list("company__name", flat=True)) == {"Juniper Drywall"}
    assert not Company.objects.filter(name="Mine").exists()


def test_companies_of_other_sites_are_not_there(job: Site, desk: Client) -> None:
    other = make.crew(make.site(), "drywall").memberships.get().company
    assert other.name not in words(desk.get(base(job)))
    assert desk.post(f"{base(job)}/{other.pk}", {"name": "Mine"}).status_code == 404
    assert signed_in(make.supervisor(make.site())).get(base(job)).status_code == 404


def test_thirty_companies_cost_as_many_questions_as_three(job: Site, desk: Client) -> None:
    counts = []
    for more in (3, 27):
        for n in range(more):
            make.crew(job, "drywall", company_=add(desk, job, f"Company of {more}, number {n}", "drywall"))
        with CaptureQueriesContext(connection) as asked:
            desk.get(base(job))
        counts.append(len(asked))
    assert counts[0] == counts[1]
