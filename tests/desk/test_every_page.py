"""Every page of the desk, by the table: nothing inline, the right headers, nothing for those not of the site."""

import re
from pathlib import Path
from typing import Any

import django_htmx
import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse

from openings.models import Site
from tests import builders as make
from tests.desk import every_page
from tests.desk.every_page import ACTIONS, FILES, PAGES, Job, a_job_with_everything, pages
from tests.desk.looking import signed_in

pytestmark = pytest.mark.django_db

# What a policy without 'unsafe-inline' does not run (W3C Content Security Policy Level 3, from memory; Chromium's own
# word on it is asked in test_every_page_in_browser.py).
INLINE = re.compile(
    r"<style|<script(?![^>]*\bsrc=)|\sstyle\s*=|\son[a-z]+\s*=|href\s*=\s*[\"']?\s*javascript:", re.IGNORECASE
)
# Scripts and styles a page asks for; anything else than our own static files would be a stranger's.
LOADED = re.compile(r"<(?:script|link rel=\"stylesheet\")[^>]*?(?:src|href)=\"([^\"]+)\"")
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def whole(job: Site, settings: Any, tmp_path: Path) -> Job:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    return a_job_with_everything(job, tmp_path)


def test_the_table_has_every_route() -> None:
    there = set(every_page.routes(get_resolver().url_patterns))
    assert there == set(PAGES) | ACTIONS | FILES


def test_nothing_inline_on_any_page_and_a_policy_on_each(whole: Job) -> None:
    desk = signed_in(whole.chief)
    for client, address in [*((desk, page) for page in pages(whole)), (Client(), "/sign-in")]:
        answer = client.get(address, follow=True)
        assert answer.status_code == 200, address
        assert not INLINE.search(answer.content.decode()), address
        assert [at for at in LOADED.findall(answer.content.decode()) if not at.startswith("/static/")] == [], address
        headers_are_safe(answer)


def test_htmx_is_the_package_s_own_and_no_copy_of_ours(whole: Job) -> None:
    page = signed_in(whole.chief).get(f"/s/{whole.site.code}/today").content.decode()
    (asked,) = [at for at in LOADED.findall(page) if "htmx" in at]
    found = Path(str(finders.find(asked.removeprefix("/static/"))))
    assert found.is_relative_to(Path(django_htmx.__file__).parent)
    assert not list((ROOT / "sitetrack").rglob("*htmx*.js"))


@pytest.mark.parametrize("address", ["/field/", "/field/worker.js", "/api/v1/schema", "/admin/login/", "/nowhere"])
def test_the_rest_of_the_server_answers_under_the_policy_too(client: Client, address: str) -> None:
    headers_are_safe(client.get(address))


def headers_are_safe(answer: Any) -> None:
    """OWASP's list of secure headers (from memory) as far as it concerns pages without frames or foreign content."""
    policy = directives(answer["Content-Security-Policy"])
    assert policy["default-src"] == ["'none'"]
    assert policy["script-src"] == ["'self'"]
    assert policy["style-src"] == ["'self'"]
    assert policy["frame-ancestors"] == ["'none'"]
    assert policy["base-uri"] == ["'none'"]
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "camera=()" in answer["Permissions-Policy"]
    assert "geolocation=()" in answer["Permissions-Policy"]


def directives(policy: str) -> dict[str, list[str]]:
    return {name: values for name, *values in (part.split() for part in policy.split(";") if part.strip())}


def test_the_api_pages_add_pictures_only(client: Client) -> None:
    plain, docs = (directives(client.get(at)["Content-Security-Policy"]) for at in ("/sign-in", "/api/v1/docs"))
    assert docs.pop("img-src") == ["'self'", "data:"]
    plain.pop("img-src")
    assert docs == plain
    assert not INLINE.search(client.get("/api/v1/docs").content.decode())


def test_cookies_are_not_sent_along_from_other_sites(whole: Job) -> None:
    """RFC 6265bis: SameSite Lax at least; the session is out of reach of scripts."""
    browser = Client()
    whole.chief.set_password("plumb and square")
    whole.chief.save()
    browser.get("/sign-in?lang=en")
    browser.post("/sign-in", {"username": whole.chief.email, "password": "plumb and square"})
    assert {"sessionid", "csrftoken", "language"} <= set(browser.cookies)
    for name, cookie in browser.cookies.items():
        assert cookie["samesite"] in {"Lax", "Strict"}, name
    assert browser.cookies["sessionid"]["httponly"]


def test_strangers_find_no_page_and_whoever_is_not_signed_in_is_asked_to(whole: Job) -> None:
    stranger = signed_in(make.supervisor(make.site("depot")))
    of_the_site = [page for page in pages(whole) if page.startswith("/s/")]
    assert len(of_the_site) > 15
    for page in of_the_site:
        assert stranger.get(page).status_code == 404, page
        answer = Client().get(page)
        assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in"), page


def test_what_acts_is_never_reached_by_a_link(whole: Job) -> None:
    desk = signed_in(whole.chief)
    for name in sorted(ACTIONS):
        for arguments in ([], [whole.site.code], [whole.site.code, whole.draft.pk]):
            try:
                address = reverse(name, args=arguments)
            except NoReverseMatch:
                continue
            assert desk.get(address).status_code in {404, 405}, name
