"""The desk in a browser: the morning as a story, on a phone and at a desk, by day and at night, in two languages."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.access.roles import Trade
from tests import builders as make
from tests.desk.looking import signed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASSWORD = "a long enough phrase"
LAUNCH = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
LOOKS = [(360, "light", "en"), (1440, "dark", "en"), (360, "dark", "es"), (1440, "light", "es")]
SERIOUS = {"serious", "critical"}
# WCAG 2.2 success criterion 2.5.8 (AA) asks for 24 CSS px; the house asks for 44 of what is pressed with a thumb.
TOO_SMALL = """() => [...document.querySelectorAll('a.target, button, .button, select, input, .strip a, .index a')]
    .filter(e => e.offsetParent && e.type !== 'hidden' && e.type !== 'radio')
    .map(e => e.type === 'checkbox' && e.closest('label') || e)  // its label is pressed
    .filter(e => e.getBoundingClientRect().height < 44)
    .map(e => e.outerHTML.slice(0, 90))"""


@pytest.fixture
def opening(job: Site) -> Opening:
    """An opening boarded before it was checked, with company on its floor."""
    crew, drywall = make.crew(job), make.crew(job, Trade.DRYWALL)
    here = make.opening(job, "B1-204", walk=2, room_from="Corridor 2", rating_minutes=45, electrified=False)
    make.work_up_to(here, "anchor")
    make.check_in(drywall, here, "board", "finish", at=make.MONDAY + make.DAY)
    make.frame_check(crew, here, readings=make.TWISTED_READINGS, at=make.MONDAY + make.DAY * 2)
    for walk, last in ((1, "receive"), (3, "board"), (4, "final")):
        make.work_up_to(make.opening(job, walk=walk, room_from="Corridor 2"), last)
    held = make.opening(job, "B1-205", walk=5, x=1.0, y=2.0)
    make.check_in(crew, held, "receive", "hold", note="Wrong hand delivered.")
    return here


@pytest.fixture
def chief(job: Site) -> Person:
    """The supervisor, who signs in with a password."""
    who = make.supervisor(job)
    who.set_password(PASSWORD)
    who.save()
    return who


@pytest.fixture
def session(chief: Person) -> Client:
    """The supervisor, signed in already."""
    return signed_in(chief)


@pytest.fixture
def chromium(job: Site, opening: Opening, chief: Person, session: Client) -> Iterator[Browser]:
    """Started last: while it runs, Django takes this thread for an asynchronous one and refuses the data base."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


def page_in(browser: Browser, address: str, session: Client, look: tuple[int, Any, str] = LOOKS[0]) -> Page:
    """A page already signed in, at a width, by day or at night, in a language."""
    width, scheme, language = look
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme, locale=language)
    context.add_cookies([{"name": "sessionid", "value": session.cookies["sessionid"].value, "url": address}])
    return context.new_page()


def test_from_signing_in_to_the_alert_and_its_answer(
    chromium: Browser, live_server: Any, chief: Person, opening: Opening
) -> None:
    page = chromium.new_page()
    page.goto(live_server.url)
    page.get_by_label("E-mail address").fill(chief.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1, name="Today")).to_be_visible()
    alert = page.get_by_role("listitem").filter(has_text="Boarded before checked").first
    alert.get_by_role("link", name=opening.number).first.click()
    expect(page.get_by_role("heading", level=1, name=opening.number)).to_be_visible()
    page.get_by_role("link", name="Answer alerts").click()
    page.get_by_text("Close with a reason").first.click()
    page.get_by_label("What was found and done").first.fill("Board off on the pull side, frame read again.")
    page.get_by_role("button", name="Close the alert").first.click()
    expect(page.locator(".told-all")).to_contain_text("Closed")


def test_from_the_ready_list_to_a_reading_on_a_phone(
    chromium: Browser, live_server: Any, session: Client, job: Site, opening: Opening
) -> None:
    page = page_in(chromium, live_server.url, session)
    page.goto(f"{live_server.url}/s/{job.code}/today")
    page.get_by_role("link", name=re.compile("L1.*Frame crew")).click()
    page.get_by_role("link", name=opening.number).first.click()
    page.get_by_role("link", name="Read and judge").first.click()
    page.get_by_label("Twist: strike jamb").fill("3/16")
    page.get_by_role("button", name="Read and judge").click()
    expect(page.locator(".told-all")).to_contain_text("fails")


def test_the_keyboard_alone_reaches_the_sheet_and_shows_where_it_is(
    chromium: Browser, live_server: Any, session: Client, job: Site
) -> None:
    page = page_in(chromium, live_server.url, session, LOOKS[3])
    page.goto(f"{live_server.url}/s/{job.code}/today?lang=en")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the sheet")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


def test_an_opening_prints_on_one_sheet(
    chromium: Browser, live_server: Any, session: Client, job: Site, opening: Opening
) -> None:
    page = page_in(chromium, live_server.url, session)
    page.goto(f"{live_server.url}/s/{job.code}/openings/{opening.number}")
    printed = page.pdf(format="Letter")
    assert printed.count(b"/Type /Page\n") == 1
