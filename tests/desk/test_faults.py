"""Pages for what is not there, not one's own, or too old to send."""

import pytest
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from openings.models import Site
from sitetrack.access.rights import Right, must
from sitetrack.desk.sheets import Desk, site_page
from tests import builders as make
from tests.desk.looking import words

pytestmark = pytest.mark.django_db


def test_an_opening_that_is_not_there_leads_back_to_the_sites(job: Site, desk: Client) -> None:
    answer = desk.get(f"/s/{job.code}/openings/none")
    assert answer.status_code == 404
    assert "nothing at this address that you may see" in words(answer)
    assert 'href="/"' in answer.content.decode()


def test_an_address_that_leads_nowhere_is_told_without_signing_in() -> None:
    answer = Client().get("/nowhere")
    assert answer.status_code == 404
    assert "nothing at this address" in words(answer)


def test_a_form_left_open_too_long_says_that_nothing_was_sent(job: Site) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(make.supervisor(job))
    answer = browser.post(f"/s/{job.code}/openings/none", {"stage": "set", "action": "finish"})
    assert answer.status_code == 403
    assert "Nothing was sent" in words(answer)


def test_what_a_service_refuses_is_never_a_fault_of_the_server(job: Site, rf: RequestFactory) -> None:
    """A page that does not tell a refusal in its own way."""

    @site_page
    def page(_request: HttpRequest, desk: Desk) -> HttpResponse:
        must(desk.person, desk.site.pk, Right.MANAGE_PEOPLE)
        return HttpResponse()

    request = rf.get("/")
    request.user = make.viewer(job)
    with pytest.raises(PermissionDenied):
        page(request, job.code)
    request.user = make.supervisor(job)
    assert page(request, job.code).status_code == 200
