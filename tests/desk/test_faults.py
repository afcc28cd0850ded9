"""Pages for what is not there, not one's own, or too old to send."""

import pytest
from django.test import Client

from openings.models import Site
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
