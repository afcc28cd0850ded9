"""The reading table under the hands: it answers while one types, and without its script by its button."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from openings.models import Opening, Site
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

OUT = make.TWISTED_READINGS | {"strike_plumb_face": "3/16"}


@pytest.fixture
def session(job: Site) -> Client:
    return signed_in(make.supervisor(job))


@pytest.fixture
def opening(job: Site) -> Opening:
    return make.opening(job, "B1-204")


@pytest.fixture
def chromium(session: Client, opening: Opening) -> Iterator[Browser]:
    """Started last: while it runs, Django takes this thread for an asynchronous one and refuses the data base."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


def context_in(browser: Browser, address: str, session: Client, *, script: bool = True) -> BrowserContext:
    context = browser.new_context(viewport={"width": 1200, "height": 900}, locale="en", java_script_enabled=script)
    context.add_cookies([{"name": "sessionid", "value": session.cookies["sessionid"].value, "url": address}])
    return context


def type_in(page: Page, readings: dict[str, str]) -> None:
    for name, text in readings.items():
        page.locator(f"[name=reading_{name}]").fill(text)


def test_it_answers_while_one_types_and_keeps_the_address_in_step(
    chromium: Browser, live_server: Any, session: Client, job: Site, opening: Opening
) -> None:
    page = context_in(chromium, live_server.url, session).new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(f"{live_server.url}/s/{job.code}/openings/{opening.number}/readings")
    type_in(page, OUT)
    expect(page.locator("#answer [data-verdict]")).to_have_text("Fails")
    expect(page.get_by_role("status")).to_have_text("Fails")
    expect(page.locator("#answer")).to_contain_text("Move the top of the strike jamb")
    type_in(page, {"strike_plumb_face": "0", "twist": "0"})
    expect(page.get_by_role("status")).to_have_text("Passes")
    expect(page.locator("[name=reading_twist]")).to_be_focused()
    assert "reading_twist=0" in page.url
    assert "part=" not in page.url
    page.reload()
    expect(page.locator("#answer [data-verdict]")).to_have_text("Passes")
    assert faults == []


def test_what_cannot_be_read_is_said_beside_its_field_and_taken_back_when_it_is_right(
    chromium: Browser, live_server: Any, session: Client
) -> None:
    page = context_in(chromium, live_server.url, session).new_page()
    page.goto(f"{live_server.url}/readings")
    twist = page.locator("[name=reading_twist]")
    twist.fill("a bit")
    expect(page.locator("#id_reading_twist_error")).to_contain_text("can't be read as a length")
    expect(twist).to_have_attribute("aria-describedby", "id_reading_twist_error")
    expect(twist).to_have_value("a bit")
    twist.fill("1/32")
    expect(page.locator("#id_reading_twist_error")).to_have_count(0)
    expect(twist).not_to_have_attribute("aria-invalid", "true")


def test_the_answer_last_asked_for_is_the_one_shown(chromium: Browser, live_server: Any, session: Client) -> None:
    """An answer that was slow on its way must not overwrite a later one."""
    page = context_in(chromium, live_server.url, session).new_page()
    page.goto(f"{live_server.url}/readings")

    def slow(route: Any) -> None:
        page.wait_for_timeout(1500)
        route.continue_()

    page.route(re.compile("reading_twist=1%2F2&"), slow)
    type_in(page, make.TRUE_READINGS)
    page.locator("[name=reading_twist]").fill("1/2")
    page.wait_for_timeout(400)
    page.locator("[name=reading_twist]").fill("0")
    expect(page.get_by_role("status")).to_have_text("Passes")
    page.wait_for_timeout(2000)
    expect(page.get_by_role("status")).to_have_text("Passes")


def test_it_works_without_its_script_by_its_button(chromium: Browser, live_server: Any, session: Client) -> None:
    page = context_in(chromium, live_server.url, session, script=False).new_page()
    page.goto(f"{live_server.url}/readings")
    type_in(page, OUT)
    page.get_by_role("button", name="Judge").click()
    expect(page.locator("[data-verdict]")).to_have_text("Fails")
    expect(page.locator("[name=reading_twist]")).to_have_value("3/16")


def test_it_prints_the_answer_and_not_the_form(chromium: Browser, live_server: Any, session: Client) -> None:
    page = context_in(chromium, live_server.url, session).new_page()
    typed = "&".join(f"reading_{name}={text}" for name, text in OUT.items())
    page.goto(f"{live_server.url}/readings?width=3'-0\"&height=7'-0\"&{typed}")
    page.emulate_media(media="print")
    expect(page.locator("[data-reading-table]")).to_be_hidden()
    expect(page.locator("#answer .judged")).to_be_visible()
    expect(page.locator("#answer .cautions")).to_be_visible()
    assert page.pdf(format="Letter").count(b"/Type /Page\n") <= 2
