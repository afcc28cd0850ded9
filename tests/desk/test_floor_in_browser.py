"""The floor in a browser: picking by box, Shift and keys; openings set down on a plan."""

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


@pytest.fixture
def session(job: Site) -> Client:
    return signed_in(make.supervisor(job))


@pytest.fixture
def openings(job: Site) -> list[Opening]:
    """Six along a corridor, ten metres apart, and one whose position nobody knows."""
    return [make.opening(job, f"10{n}", x=n * 10.0, y=0.0, walk=n) for n in range(6)] + [make.opening(job, "109")]


@pytest.fixture
def chromium(session: Client) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


def middle(page: Page, number: str) -> tuple[float, float]:
    box = page.locator(".plan a", has_text=number).bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_picked_by_a_box_by_shift_and_by_keys(
    openings: list[Opening], chromium: Browser, live_server: Any, session: Client, job: Site
) -> None:
    page = page_in(chromium, live_server.url, session, DESK)
    page.goto(f"{live_server.url}/s/{job.code}/floors/{openings[0].floor_id}")
    said = page.locator("[data-pick-said]")
    sheet = page.locator(".plan-sheet")
    sheet.scroll_into_view_if_needed()
    edge = sheet.bounding_box()
    assert edge
    to_x, to_y = middle(page, "101")
    page.mouse.move(edge["x"] + 3, edge["y"] + 3)
    page.mouse.down()
    page.mouse.move(to_x, to_y, steps=5)
    page.mouse.up()
    expect(said).to_have_text("2 picked")
    page.locator(".plan a", has_text="103").click(modifiers=["Shift"])
    expect(said).to_have_text("3 picked")
    page.locator(".plan a", has_text="104").focus()
    page.keyboard.press("Space")
    expect(said).to_have_text("4 picked")
    page.get_by_role("button", name="List the openings picked").click()
    expect(page.get_by_role("heading", level=1, name="Openings picked")).to_be_visible()
    assert page.locator(".walk-list b").all_inner_texts() == ["100", "101", "103", "104"]


def test_an_opening_is_dropped_nudged_taken_off_and_undone(
    openings: list[Opening], chromium: Browser, live_server: Any, session: Client, job: Site
) -> None:
    page = page_in(chromium, live_server.url, session, DESK)
    page.goto(f"{live_server.url}/s/{job.code}/floors/{openings[0].floor_id}/plan?step=positions")
    said = page.locator("[data-said]")
    page.get_by_role("button", name="109", exact=True).click()
    room = page.locator("[data-pins]").bounding_box()
    assert room
    page.mouse.click(room["x"] + 300, room["y"] + 120)
    expect(said).to_contain_text("109 set down at")
    pin = page.locator(".pin", has_text="109")
    before = said.inner_text()
    pin.focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(said).not_to_have_text(before)
    page.keyboard.press("Delete")
    expect(said).to_have_text("109 taken off the plan")
    expect(page.locator("[data-tray-count]")).to_have_text("1")
    page.keyboard.press("Control+z")
    expect(said).to_contain_text("109 set down at")
    undone = said.inner_text()
    box = pin.locator(".pin-dot").bounding_box()
    assert box
    page.mouse.move(box["x"] + 3, box["y"] + 3)
    page.mouse.down()
    page.mouse.move(box["x"] + 103, box["y"] + 43, steps=5)
    page.mouse.up()
    expect(said).not_to_have_text(undone)
    shown = said.inner_text()
    page.reload()
    label = page.locator(".pin", has_text="109").get_attribute("aria-label")
    assert label
    assert label.removeprefix("109: ") == shown.removeprefix("109 set down at ")
