"""The schedule sheet in a browser: at a phone's and a desk's width, by day and at night, no serious finding."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from openings.models import Site
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, TOO_SMALL, page_in
from tests.openings.intake import sheets

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ROWS = [
    *sheets.PLAIN,
    ["103", "1", "3'-13\"", "7'-0\"", "HW-1", "45 MIN", "RH"],
    ["104", "1", "7'-0\"", "3'-0\"", "HW-1", "Inside door: Fire Rating", "RH"],
    ["NOTES:", "", "", "", "", "", ""],
]


@pytest.fixture
def session(job: Site, settings: Any, tmp_path: Path) -> Client:
    """The supervisor, signed in, with openings of an earlier issue."""
    settings.MEDIA_ROOT = tmp_path / "uploads"
    make.opening(job, "101A", hand="LH")
    make.opening(job, "199")
    return signed_in(make.supervisor(job))


@pytest.fixture
def chromium(session: Client) -> Iterator[Browser]:
    """Started last: while it runs, Django takes this thread for an asynchronous one and refuses the data base."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


def look_at(page: Page, where: Path, name: str) -> None:
    """No serious finding of the accessibility rules, no sideways scrolling, nothing too small to press."""
    page.screenshot(path=where / f"{name}.png", full_page=True)
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found if v["impact"] in SERIOUS] == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert page.evaluate(TOO_SMALL.replace("'radio'", "'radio' && e.type !== 'checkbox'")) == []


@pytest.mark.parametrize("look", LOOKS[1:3], ids=lambda look: "-".join(map(str, look)))
def test_a_schedule_is_taken_in_from_the_page(
    live_server: Any, session: Client, chromium: Browser, look: tuple[int, Any, str], tmp_path: Path
) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", ROWS)
    shots = "-".join(map(str, look))
    page = page_in(chromium, live_server.url, session, look)
    page.goto(f"{live_server.url}/s/clinic/schedule")
    look_at(page, tmp_path, f"schedule-{shots}")
    page.locator("#file").set_input_files(path)
    page.locator("main form button").first.click()
    expect(page.locator(".digest li")).to_contain_text(["4", "1", "0", "1", "0", "0"])
    look_at(page, tmp_path, f"preview-{shots}")
    page.locator("summary").first.click()
    page.locator("form[action$='take-in'] button").click()
    expect(page).to_have_url(f"{live_server.url}/s/clinic/schedule/revisions/1")
    look_at(page, tmp_path, f"revision-{shots}")
