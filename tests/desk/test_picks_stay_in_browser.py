"""What is picked on a floor stays picked while the page follows the job, and picking works on what it draws anew."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from openings.models import Opening, Site
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, page_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DESK = (1440, "light", "en")
MINUTE_MS = 60_000


@pytest.fixture
def openings(job: Site) -> list[Opening]:
    return [make.opening(job, f"10{n}", x=n * 10.0, y=0.0, walk=n) for n in range(3)]


@pytest.fixture
def chromium(monkeypatch: pytest.MonkeyPatch) -> Iterator[Browser]:
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # the driver's event loop runs in this thread
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


@pytest.fixture
def session(job: Site) -> Client:
    return signed_in(make.supervisor(job))


@pytest.mark.parametrize("kind", ["drawing", "list"])
def test_picks_outlast_a_refresh_and_marks_drawn_anew_are_picked(
    openings: list[Opening], chromium: Browser, live_server: Any, session: Client, job: Site, kind: str
) -> None:
    page = page_in(chromium, live_server.url, session, DESK)
    page.clock.install()
    page.goto(f"{live_server.url}/s/{job.code}/floors/{openings[0].floor_id}" + ("?as=list" if kind == "list" else ""))
    said = page.locator("[data-pick-said]")
    _comes_in(job, "201", page)
    expect(_opening(page, "201")).to_be_visible()  # drawn anew while nothing was picked
    for number in ("101", "201"):
        _pick(page, number, kind)
    expect(said).to_have_text("2 picked")
    _comes_in(job, "202", page)
    expect(page.locator("#live-told")).to_contain_text("Something has changed")
    expect(said).to_have_text("2 picked")
    expect(_opening(page, "202")).to_have_count(0)
    page.locator("[data-pick-made]").click()
    assert page.locator(".walk-list b").all_inner_texts() == ["101", "201"]


def _comes_in(job: Site, number: str, page: Page) -> None:
    """A new opening is reported on and the page's minute is over."""
    make.check_in(make.crew(job), make.opening(job, number, x=50.0, y=5.0, walk=9), "receive", "note", note="Seen.")
    page.clock.fast_forward(MINUTE_MS)
    page.wait_for_timeout(400)


def _opening(page: Page, number: str) -> Any:
    return page.locator(".plan a, .ruled-list tbody th", has_text=number)


def _pick(page: Page, number: str, kind: str) -> None:
    if kind == "list":
        page.get_by_label(f"Pick {number}").check()
    else:
        page.locator(".plan a", has_text=number).click(modifiers=["Shift"])
