"""The opening's sheet and the schedule by hand in a browser: sound at every width and light, printed on one sheet."""

import hashlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from PIL import Image
from playwright.sync_api import Browser, expect, sync_playwright

from inspections.services.photos import keep_photo
from openings.models import Opening, ScheduleRevision, Site
from openings.services.edit import edit_openings
from sitetrack.access.roles import Trade
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, TOO_SMALL, page_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sent_photo(who: Any, tone: int) -> str:
    """A photo that has come; gives the digest it is named by."""
    drawn = BytesIO()
    Image.new("RGB", (1200, 900), (tone, 120, 90)).save(drawn, "JPEG")
    digest = hashlib.sha256(drawn.getvalue()).hexdigest()
    keep_photo(digest=digest, content=drawn.getvalue(), who=who, now=make.MONDAY)
    return digest


@pytest.fixture
def opening(job: Site, settings: Any, tmp_path: Path) -> Opening:
    """An opening worked through, with photos, a hold released, something taken back, and corrections by hand."""
    settings.MEDIA_ROOT = tmp_path / "uploads"
    crew = make.crew(job, Trade.FRAME_CREW)
    here = make.opening(job, "B1-204", walk=2, room_from="Corridor 2", room_to="Ward 7", rating_minutes=45)
    make.opening(job, "B1-205", walk=3)
    at = make.work_up_to(here, "recheck")
    hold = make.check_in(crew, here, "fix", "hold", note="Wrong hand delivered.", at=at + make.DAY)
    make.check_in(make.supervisor(job), here, "fix", "release", about=hold.pk, note="Swapped.", at=at + make.DAY * 2)
    photos = (sent_photo(crew, 40), sent_photo(crew, 200), "f" * 64)
    make.check_in(crew, here, "set", "note", note="Seen at the foot.", photos=photos, at=at + make.DAY * 2)
    wrong = make.check_in(crew, here, "set", "note", note="Wrong door.", at=at + make.DAY * 2)
    make.check_in(crew, here, "set", "void", about=wrong.pk, note="It was 205.", at=at + make.DAY * 3)
    who = make.supervisor(job)
    ScheduleRevision.objects.create(
        site=job, n=1, file_name="doors.csv", file_digest="0" * 64, taken_in_at=make.MONDAY, taken_in_by=who
    )
    here.refresh_from_db()
    facts = {"hardware_set": "HW-9", "mark": "F7"}
    edit_openings(site=job, versions={here.pk: here.version}, facts=facts, who=who, now=at + make.DAY * 4)
    return here


@pytest.fixture
def session(job: Site, opening: Opening) -> Client:
    """The supervisor, signed in."""
    return signed_in(make.supervisor(job))


@pytest.fixture
def chromium(session: Client) -> Iterator[Browser]:
    """Started last: while it runs, Django takes this thread for an asynchronous one and refuses the data base."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


@pytest.mark.parametrize("look", LOOKS[1:3], ids=lambda look: "-".join(map(str, look)))
def test_the_sheets_are_sound_at_every_width_and_light(
    chromium: Browser, live_server: Any, session: Client, look: tuple[int, Any, str], tmp_path: Path
) -> None:
    page = page_in(chromium, live_server.url, session, look)
    for name, path in {
        "opening": "openings/B1-204", "edit": "openings/B1-204/edit", "many": "schedule/openings",
        "compare": "schedule/compare", "by-hand": "schedule/by-hand", "add": "schedule/add", "schedule": "schedule",
    }.items():  # fmt: skip
        page.goto(f"{live_server.url}/s/clinic/{path}")
        page.screenshot(path=tmp_path / f"{name}-{'-'.join(map(str, look))}.png", full_page=True)
        found = Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in SERIOUS] == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= look[0], path
        assert page.evaluate(TOO_SMALL.replace("'radio'", "'radio' && e.type !== 'checkbox'")) == [], path


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_an_opening_prints_on_one_sheet(
    chromium: Browser, live_server: Any, session: Client, paper: str, tmp_path: Path
) -> None:
    page = page_in(chromium, live_server.url, session)
    page.goto(f"{live_server.url}/s/clinic/openings/B1-204")
    printed = page.pdf(format=paper, path=tmp_path / f"printed-{paper}.pdf")
    with pypdfium2.PdfDocument(printed) as document:
        assert len(document) == 1
        words = document[0].get_textpage().get_text_range()
    assert "B1-204" in words
    assert "Wrong hand delivered." in words


def test_a_photo_is_opened_from_its_check_in(chromium: Browser, live_server: Any, session: Client) -> None:
    page = page_in(chromium, live_server.url, session, LOOKS[1])
    page.goto(f"{live_server.url}/s/clinic/openings/B1-204")
    shown = page.locator(".photos img")
    expect(shown).to_have_count(2)
    expect(page.locator(".photo-none")).to_have_count(1)
    shown.first.scroll_into_view_if_needed()
    expect(shown.first).to_have_js_property("naturalWidth", 320)
    shown.first.click()
    expect(page.locator("main")).to_contain_text("Seen at the foot.")
    expect(page.locator(".photo-whole img")).to_have_js_property("naturalWidth", 1200)


def test_a_report_is_undone_on_the_page_it_was_made_from(chromium: Browser, live_server: Any, session: Client) -> None:
    page = page_in(chromium, live_server.url, session, LOOKS[1])
    page.goto(f"{live_server.url}/s/clinic/openings/B1-205?do=note&stage=set")
    page.locator("#id_note").fill("A dent in the head.")
    page.get_by_role("button", name="Note").click()
    expect(page.locator(".told")).to_contain_text("Recorded.")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".told")).to_contain_text("Taken back")
    expect(page.locator(".record .taken-back")).to_contain_text("A dent in the head.")
