"""Forms from elsewhere are refused, and nobody is sent to another server: every POST route, every `next` and `back`."""

from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from openings.models import Site
from sitetrack.access.services.invitations import Asked, Standing, invite
from sitetrack.kit.clock import now
from sitetrack.reports.mailing_list import Entry, add_reader
from tests import builders as make
from tests.desk.every_page import a_job_with_everything
from tests.desk.every_route import address, bodies, parts_of, rows, site_routes

pytestmark = pytest.mark.django_db
PASSWORD = "seven crooked jambs"
# OWASP's cheat sheet on unvalidated redirects (from memory): other hosts, other schemes, and spellings of both.
ELSEWHERE = (
    "https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example", "\\\\elsewhere.example",
    "///x.example", "javascript:alert(1)", "http:elsewhere.example", " //elsewhere.example", "https:/elsewhere.example",
    "http://testserver@elsewhere.example/", "data:text/html,x", "\t//elsewhere.example", "/\t/elsewhere.example",
)  # fmt: skip
OF_ACCOUNTS = (
    "/sign-in", "/sign-out", "/sign-in/forgotten", "/account/password", "/account/codes", "/account/codes/off",
    "/account/codes/recovery", "/account/sessions/end", "/signing-code", "/sites/new",
)  # fmt: skip


def stays_here(location: str) -> bool:
    """A path on this server, which no browser reads as another host (WHATWG URL: `//`, and a backslash is a slash)."""
    seen = location.replace("\\", "/").translate({9: None, 10: None, 13: None}).lstrip()
    return seen.startswith("/") and not seen.startswith("//")


def test_no_form_from_elsewhere_is_taken(job: Site, settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    whole = a_job_with_everything(job, tmp_path)
    asked = Asked("w@example.com")
    invite(site_id=job.pk, asked=asked, standing=Standing("viewer", "Office"), who=whole.chief, now=now())
    add_reader(site=job, entry=Entry("r@example.com"), who=whole.chief, now=now())
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(whole.chief)
    parts, forms, before, tried = parts_of(whole), bodies(whole), rows(), 0
    addresses = [(address(name, parts), forms.get(name, {})) for name in site_routes()]
    for where, form in [*addresses, *((path, {}) for path in OF_ACCOUNTS)]:
        status = browser.post(where, form).status_code
        # Whether the method is known may be said before whose form it is; what acts is refused.
        assert status in {403, 405}, where
        tried += status == 403
    assert tried > 60
    assert rows() == before


def test_an_api_call_by_a_pages_session_needs_the_token_of_a_form_too() -> None:
    opening = make.opening(make.site("clinic"))
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(make.supervisor(opening.site))
    answer = browser.post("/api/v1/sync/push", make.batch(make.push_item(opening)), content_type="application/json")
    assert answer.status_code == 403


def test_signing_in_leads_to_this_server_only(settings: Any) -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # what is asked is not the hash
    who = make.person(password=PASSWORD)
    form, signed_in = {"username": who.email, "password": PASSWORD}, Client()
    signed_in.force_login(who)
    for where in ELSEWHERE:
        assert stays_here(Client().post("/sign-in", form | {"next": where})["Location"]), where
        assert stays_here(signed_in.get("/sign-in", {"next": where})["Location"]), where
        assert stays_here(Client().get("/admin/login/", {"next": where})["Location"]), where


def test_a_form_leads_back_to_this_server_only(job: Site, desk: Client) -> None:
    alert = make.alert(make.opening(job))
    for where in ELSEWHERE:
        for name in ("desk:acknowledge", "desk:unacknowledge"):
            answer = desk.post(reverse(name, args=[job.code, alert.pk]), {"back": where, "next": where})
            assert answer.status_code == 302
            assert stays_here(answer["Location"]), where
        leaving = Client()
        leaving.force_login(make.person())
        assert stays_here(leaving.post("/sign-out", {"next": where})["Location"]), where


@pytest.mark.parametrize("query", ["lang=https://elsewhere.example", "light=//elsewhere.example", "lang=es"])
def test_choosing_language_or_light_leads_nowhere_else(query: str) -> None:
    for path in ("/sign-in", "//elsewhere.example/sign-in"):
        answer = Client().get(f"{path}?{query}")
        if answer.status_code in {301, 302}:
            assert stays_here(answer["Location"])
