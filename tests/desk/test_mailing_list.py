"""Who is mailed the weekly status: added, refused, taken off, put back, and recorded."""

import pytest
from django.test import Client

from openings.models import Site
from sitetrack.access.models.changes import RecordedChange
from sitetrack.access.roles import Role
from sitetrack.reports.models import Reader
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db
TYPED = {"email": "office@example.com", "gets_status": "yes"}


def address(job: Site) -> str:
    return f"/s/{job.code}/mailing"


def acts(job: Site) -> list[tuple[str, str]]:
    return list(RecordedChange.objects.filter(site=job, kind="mailing").order_by("id").values_list("act", "named"))


def test_an_address_is_put_on_the_list_with_its_edition_language_and_paper(job: Site, desk: Client) -> None:
    firm = make.crew(job).memberships.get().company
    more = {"company": firm.name, "language": "es", "paper": "a4", "gets_anchor": "yes"}
    page = desk.post(address(job), TYPED | more, follow=True)
    reader = Reader.objects.get(site=job)
    assert (reader.email, reader.company, reader.language, reader.paper) == ("office@example.com", firm, "es", "a4")
    assert reader.gets_status
    assert reader.gets_anchor
    assert f"office@example.com {firm.name} weekly status · end of the sealed record · español · A4" in words(page)
    assert acts(job) == [("added", "office@example.com")]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"email": "office"}, "no mail address"),
        ({"email": "a@example.com, b@example.com"}, "no mail address"),
        ({"company": "Nobody Ltd"}, "no such company"),
        ({"language": "xx"}, "Choose one of the list."),
        ({"paper": "foolscap"}, "Choose one of the list."),
        ({"gets_status": ""}, "Choose what is mailed."),
    ],
)
def test_what_can_not_be_mailed_is_refused_and_keeps_what_was_typed(
    job: Site, desk: Client, wrong: dict[str, str], said: str
) -> None:
    page = desk.post(address(job), TYPED | wrong)
    assert page.status_code == 422
    assert said in words(page)
    assert (TYPED | wrong)["email"] in page.content.decode()
    assert not Reader.objects.exists()


def test_an_address_is_on_the_list_once_however_it_is_written(job: Site, desk: Client) -> None:
    desk.post(address(job), TYPED)
    page = desk.post(address(job), TYPED | {"email": "Office@Example.com"})
    assert page.status_code == 409
    assert Reader.objects.count() == 1


def test_an_address_is_taken_off_and_put_back_as_it_was(job: Site, desk: Client) -> None:
    desk.post(address(job), TYPED | {"paper": "a4", "gets_anchor": "yes"})
    page = desk.post(f"{address(job)}/{Reader.objects.get().pk}/remove", follow=True)
    assert not Reader.objects.exists()
    fields = {"email": "office@example.com", "paper": "a4", "gets_status": "True", "gets_anchor": "True"}
    for name, value in fields.items():
        assert f'name="{name}" value="{value}"' in page.content.decode()
    desk.post(f"{address(job)}/restore", fields)
    reader = Reader.objects.get()
    assert (reader.paper, reader.gets_status, reader.gets_anchor) == ("a4", True, True)
    assert [act for act, _named in acts(job)] == ["added", "removed", "restored"]


def test_the_list_is_the_supervisors_alone(job: Site, desk: Client) -> None:
    desk.post(address(job), TYPED)
    removal = f"{address(job)}/{Reader.objects.get().pk}/remove"
    for role in set(Role) - {Role.SUPERVISOR}:
        other = signed_in(make.member(job, role))
        assert other.get(address(job)).status_code == 404
        assert other.post(address(job), TYPED).status_code == 404
        assert other.post(removal).status_code == 404
    stranger = signed_in(make.supervisor(make.site("other")))
    assert stranger.post(removal).status_code == 404
    assert stranger.post(f"/s/other/mailing/{Reader.objects.get().pk}/remove").status_code == 404
    assert Reader.objects.count() == 1


def test_the_cost_of_the_page_does_not_grow_with_the_list(
    job: Site, desk: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    desk.get(address(job))
    counts = []
    for many in (3, 30):
        for n in range(Reader.objects.count(), many):
            Reader.objects.create(site=job, email=f"r{n}@example.com")
        with django_assert_max_num_queries(40) as asked:
            desk.get(address(job))
        counts.append(len(asked))
    assert counts[0] == counts[1]
