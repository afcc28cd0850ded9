"""A plan changed in a browser, by the keyboard alone and without scripts; its sheets sound at every width and light."""

import os
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect, sync_playwright

from openings.models import Site
from openings.services.plans import begin_draft
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, page_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PICTURES = os.environ.get("TEST_PICTURES", "")


@pytest.mark.parametrize("look", LOOKS[1:3], ids=lambda look: "-".join(map(str, look)))
def test_the_sheets_of_a_plan_are_sound(job: Site, live_server: Any, look: tuple[int, Any, str]) -> None:
    for last in ("stud", "anchor", "board"):
        make.work_up_to(make.opening(job), last)
    who = make.supervisor(job)
    begin_draft(plan=job.plans.get(code="steel_stud"), who=who, now=make.MONDAY)
    client = signed_in(who)
    base = f"/s/{job.code}/plans/steel_stud"
    client.post(f"{base}/draft/remove", {"based_on": "1", "stage": "anchor"})
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        page = page_in(browser, live_server.url, client, look)
        for name, path in (
            ("plans", f"/s/{job.code}/plans"),
            ("plan", f"/s/{job.code}/plans/masonry"),
            ("draft", f"{base}/draft"),
            ("stage", f"{base}/draft?stage=trueness"),
            ("preview", f"{base}/draft/preview"),
        ):
            page.goto(live_server.url + path)
            if PICTURES:
                shot = Path(PICTURES) / f"{name}-{'-'.join(map(str, look))}.png"
                page.screenshot(path=shot, full_page=True)
            found = Axe().run(page).response["violations"]
            serious = [(each["id"], each["nodes"][0]["html"][:120]) for each in found if each["impact"] in SERIOUS]
            assert not serious, (path, serious)
            assert page.evaluate("document.documentElement.scrollWidth") <= look[0], path
        browser.close()


def test_a_stage_is_changed_by_keyboard_and_without_scripts(job: Site, live_server: Any) -> None:
    who = make.supervisor(job)
    begin_draft(plan=job.plans.get(code="steel_stud"), who=who, now=make.MONDAY)
    client = signed_in(who)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        context = browser.new_context(java_script_enabled=False, locale="en")
        cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
        context.add_cookies([cookie])  # type: ignore[list-item]
        page = context.new_page()
        page.goto(f"{live_server.url}/s/{job.code}/plans/steel_stud/draft")
        box = page.locator("svg.sequence a", has_text="stud").first
        box.focus()
        page.keyboard.press("Enter")
        page.get_by_label("Title, English").fill("Studs stood at the jambs")
        page.keyboard.press("Enter")
        expect(page.get_by_role("status")).to_contain_text("Drawn: Studs stood at the jambs.")
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_role("status")).to_contain_text("as it was before")
        browser.close()
