"""A page in front of a person: it follows the job, loses nothing of theirs, says when the server is away; its keys."""

from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, Route, expect

from openings.models import Opening, Site
from tests import builders as make
from tests.desk.test_browser import chief, chromium, opening, page_in, session  # noqa: F401 - fixtures

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MINUTE_MS = 60_000


@pytest.fixture(autouse=True)
def _data_beside_the_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    """The browser's driver keeps an event loop in this thread, for which Django would refuse its data base."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")


@pytest.fixture
def today(chromium: Browser, live_server: Any, session: Client, job: Site) -> Page:  # noqa: F811
    page = page_in(chromium, live_server.url, session, (1440, "light", "en"))
    page.clock.install()
    page.goto(f"{live_server.url}/s/{job.code}/today")
    return page


def a_minute_later(page: Page) -> None:
    page.clock.fast_forward(MINUTE_MS)
    page.wait_for_timeout(300)


def held(job: Site) -> None:
    other = make.opening(job, "Z-900")
    make.check_in(make.crew(job), other, "receive", "hold", note="Frame of another job.")


def test_what_is_reported_appears_by_itself(today: Page, job: Site) -> None:
    expect(today.get_by_text("As of")).to_be_visible()
    held(job)
    a_minute_later(today)
    expect(today.get_by_text("Frame of another job.")).to_be_visible()


def test_what_is_typed_is_never_taken_away(today: Page, live_server: Any, job: Site) -> None:
    today.goto(f"{live_server.url}/s/{job.code}/openings/B1-204?do=note&stage=set")
    note = today.locator("textarea[name=note]")
    note.fill("Half a sentence")
    make.check_in(make.crew(job), Opening.objects.get(number="B1-204"), "set", "note", note="From the floor.")
    a_minute_later(today)
    expect(note).to_have_value("Half a sentence")
    expect(today.locator("#live-told")).to_contain_text("Something has changed")
    note.fill("")
    note.blur()
    a_minute_later(today)
    expect(today.get_by_text("From the floor.").first).to_be_visible()


def test_a_server_out_of_reach_is_said_and_said_to_be_back(today: Page) -> None:
    def gone(route: Route) -> None:
        route.abort()

    today.route("**/today*", gone)
    a_minute_later(today)
    expect(today.locator("#live-told")).to_contain_text("cannot be reached")
    today.unroute("**/today*", gone)
    a_minute_later(today)
    expect(today.locator("#live-told")).to_have_text("")


def test_keys_find_walk_and_explain_themselves(today: Page) -> None:
    today.keyboard.press("/")
    expect(today.locator("#find")).to_be_focused()
    today.keyboard.type(".f?")
    expect(today.locator("#find")).to_have_value(".f?")
    today.locator("h1").click()
    today.keyboard.press(".")
    first = today.evaluate("document.activeElement.href")
    today.keyboard.press("ArrowDown")
    assert today.evaluate("document.activeElement.href") != first
    today.keyboard.press(",")
    assert today.evaluate("document.activeElement.href") == first
    today.keyboard.press("?")
    expect(today.get_by_role("dialog")).to_be_visible()
    today.get_by_label("Single keys act").uncheck()
    today.get_by_role("button", name="Done").click()
    today.keyboard.press("/")
    expect(today.locator("#find")).not_to_be_focused()


def test_what_is_found_is_walked_by_keys(today: Page, job: Site) -> None:
    for number in ("C-1", "C-2"):
        make.opening(job, number, room_to="Linen store")
    today.keyboard.press("/")
    today.keyboard.type("linen")
    today.keyboard.press("Enter")
    today.wait_for_url("**/find?*")
    today.keyboard.press("/")
    today.keyboard.press("ArrowDown")
    expect(today.get_by_role("link", name="C-1")).to_be_focused()
    today.keyboard.press("ArrowUp")
    expect(today.locator("#find")).to_be_focused()
    today.keyboard.press("ArrowDown")
    today.keyboard.press(".")
    today.keyboard.press("Enter")
    today.wait_for_url("**/openings/C-2")
