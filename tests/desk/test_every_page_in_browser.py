"""Every page in Chromium: nothing the policy forbids, nothing serious for axe-core, nothing off the side.

With PICTURES naming a folder, each page is also photographed there, at two widths, by day and at night, in both
languages, as `<page>-<width>-<light>-<language>.png`:

    TEST_BROWSER=1 PICTURES=/tmp/pictures .venv/bin/python -m pytest tests/desk/test_every_page_in_browser.py
"""

import itertools
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

from openings.models import Site
from sitetrack.access.models import Person
from tests.desk.every_page import Job, a_job_with_everything, pages
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, TOO_SMALL, page_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PICTURES = os.environ.get("PICTURES", "")
TWO_LOOKS = [(360, "light", "es"), (1440, "dark", "en")]  # each takes a minute; all eight with PICTURES
ALL_LOOKS = list(itertools.product((360, 1440), ("light", "dark"), ("en", "es")))
REPORT = """document.addEventListener('securitypolicyviolation',
    e => console.error('policy: ' + e.effectiveDirective + ' ' + e.blockedURI + ' ' + e.sample))"""
# A box to tick is as large as the label around it.
SMALL = TOO_SMALL.replace("e.type !== 'radio'", "!['radio', 'checkbox'].includes(e.type)")


@pytest.fixture
def whole(job: Site, settings: Any, tmp_path: Path) -> Job:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    return a_job_with_everything(job, tmp_path)


@pytest.fixture
def chromium(whole: Job) -> Iterator[Browser]:
    """Started after the data is made: while it runs, Django refuses the data base in this thread."""
    Person.objects.filter(pk=whole.chief.pk).update(is_staff=True, is_superuser=True)
    session, addresses = signed_in(whole.chief), pages(whole)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        browser.session, browser.addresses = session, addresses  # type: ignore[attr-defined]
        yield browser
        browser.close()


def watched(browser: Any, address: str, look: tuple[int, Any, str] = LOOKS[0]) -> tuple[Page, list[str]]:
    """A page signed in, and what its console complains of."""
    page, heard = page_in(browser, address, browser.session, look), []
    page.context.add_init_script(REPORT)
    page.on("console", lambda said: heard.append(said.text) if said.type in {"error", "warning"} else None)
    page.on("pageerror", lambda fault: heard.append(str(fault)))
    return page, heard


def test_the_watch_hears_what_the_policy_forbids(chromium: Browser, live_server: Any, whole: Job) -> None:
    """So that silence in the walk means something."""
    page, heard = watched(chromium, live_server.url)
    page.goto(live_server.url + whole.url("desk:today"))
    assert heard == []
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">')")
    page.wait_for_timeout(100)
    assert any(said.startswith("policy: style-src") for said in heard)


@pytest.mark.parametrize("look", ALL_LOOKS if PICTURES else TWO_LOOKS, ids=lambda look: "-".join(map(str, look)))
def test_every_page_is_sound(chromium: Browser, live_server: Any, whole: Job, look: tuple[int, Any, str]) -> None:
    page, heard = watched(chromium, live_server.url, look)
    faults = []
    for path in chromium.addresses:  # type: ignore[attr-defined]
        page.goto(live_server.url + path)
        found = Axe().run(page).response["violations"]
        faults += [(path, v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in SERIOUS]
        if page.evaluate("document.documentElement.scrollWidth") > look[0]:
            faults.append((path, "runs off the side", ""))
        faults += [(path, "too small to press", html) for html in page.evaluate(SMALL)]
        faults += [(path, "console", said) for said in heard]
        heard.clear()
        assert page.get_attribute("html", "lang") == look[2]
        if PICTURES:
            name = re.sub(r"[0-9a-f-]{36}", "id", path.strip("/")).replace("/", "_").replace("?", "-") or "sites"
            page.screenshot(path=f"{PICTURES}/{name}-{look[0]}-{look[1]}-{look[2]}.png", full_page=True)
    assert faults == []


def test_the_api_pages_and_the_phone_page_run_under_the_policy(chromium: Browser, live_server: Any) -> None:
    page, heard = watched(chromium, live_server.url, (1440, "light", "en"))
    page.goto(f"{live_server.url}/api/v1/docs")
    page.get_by_text("/api/v1/sync/push").first.wait_for()
    page.goto(f"{live_server.url}/field/")
    page.get_by_role("button", name="Enrol").wait_for()
    assert [said for said in heard if "olicy" in said] == []


def test_the_admin_runs_under_the_policy(chromium: Any, live_server: Any, whole: Job) -> None:
    """Every list, and where there is anything in it, the first form."""
    page, heard = watched(chromium, live_server.url, (1440, "light", "en"))
    page.goto(f"{live_server.url}/admin/")
    lists = page.locator("th a").evaluate_all("all => all.map(a => a.href)")
    assert len(lists) > 5
    for address in [*lists, *(f"{each}add/" for each in lists)]:
        page.goto(address)
        if (first := page.locator("#result_list tbody th a")).count():
            first.first.click()
    assert [said for said in heard if "olicy" in said] == []
