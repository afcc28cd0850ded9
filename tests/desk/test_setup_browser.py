"""The set-up in a browser: sound at every width and light, and a code that a phone can scan off the screen."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from inspections.sync.push import Push, push
from openings.models import Site
from sitetrack.access.models import Device, EnrolmentCode
from sitetrack.access.services.enrolment import digest
from sitetrack.kit.clock import now
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, TOO_SMALL, page_in

# A box to tick is as large as the label around it.
SMALL = TOO_SMALL.replace("e.type !== 'radio'", "!['radio', 'checkbox'].includes(e.type)")

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def busy(job: Site) -> Site:
    """A job with phones of every kind and something kept aside."""
    hand = make.crew(job)
    make.opening(job, "2014")
    for offset in (0, 400_000, None):
        phone, _ = make.device(job, hand)
        Device.objects.filter(pk=phone.pk).update(last_seen_at=now(), clock_offset_ms=offset, clock_jumped_at=now())
    stopped, _ = make.device(job, make.crew(job))
    Device.objects.filter(pk=stopped.pk).update(revoked_at=now())
    make.device(job, hand, kind="program")
    for note in ("north stack", "x" * 300):
        item = make.push_item(
            make.opening(job), "trueness", opening="B1-2041", note=note, readings=make.TWISTED_READINGS
        )
        push(batch=Push(hand, None, make.MONDAY, [item]), now=make.MONDAY)
    return job


@pytest.mark.parametrize("look", LOOKS[1:3], ids=lambda look: "-".join(map(str, look)))
def test_the_set_up_is_sound_at_every_width_and_light(
    busy: Site, live_server: Any, look: tuple[int, Any, str], tmp_path: Path
) -> None:
    session = signed_in(make.supervisor(busy))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        page = page_in(browser, live_server.url, session, look)
        for what in ("phones", "kept-aside", "labels", "code", "/signing-code"):
            if what == "code":
                page.goto(f"{live_server.url}/s/{busy.code}/phones")
                page.locator("#person").select_option(index=1)
                page.locator("form[action$='/phones/code'] button").click()
                page.locator(".scan svg").wait_for()
            else:
                page.goto(live_server.url + (what if what.startswith("/") else f"/s/{busy.code}/{what}"))
            page.screenshot(path=tmp_path / f"{what.strip('/')}.png", full_page=True)
            found = Axe().run(page).response["violations"]
            serious = [(each["id"], each["nodes"][0]["html"][:120]) for each in found if each["impact"] in SERIOUS]
            assert not serious, (what, serious)
            assert page.evaluate("document.documentElement.scrollWidth") <= look[0], what
            assert page.evaluate(SMALL) == [], what
            assert page.get_attribute("html", "lang") == look[2]
        browser.close()


@pytest.mark.skipif(not shutil.which("zbarimg"), reason="needs zbar-tools (Debian)")
@pytest.mark.parametrize("look", LOOKS[:2], ids=["phone by day", "desk at night"])
def test_the_code_on_the_screen_is_read_by_another_program(
    busy: Site, live_server: Any, settings: Any, look: tuple[int, Any, str], tmp_path: Path
) -> None:
    settings.PUBLIC_URL = "https://a-rather-long-name.of-a-builder.example"
    session = signed_in(make.supervisor(busy))
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        page = page_in(browser, live_server.url, session, look)
        page.goto(f"{live_server.url}/s/{busy.code}/phones")
        page.locator("#person").select_option(index=1)
        page.locator("form[action$='/phones/code'] button").click()
        page.locator(".scan svg").screenshot(path=tmp_path / "code.png")
        browser.close()
    read = subprocess.run(
        ["zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", "code.png"],
        cwd=tmp_path, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ).stdout.strip()  # fmt: skip
    found = re.fullmatch(re.escape(settings.PUBLIC_URL) + r"/field/#code=([0-9A-Z]{10})", read)
    assert found
    assert EnrolmentCode.objects.get().code_digest == digest(found[1])
