"""A floor's plan in a browser: a page of a PDF chosen, put to scale by two presses, an opening set down on it.

With PICTURES naming a folder, every page of the floor with its plan is photographed there, on screen and as printed.
"""

import os
from collections.abc import Iterator
from io import BytesIO
from itertools import product
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from openings.models import FloorPlan, Opening, OpeningList, Site
from openings.services.lists import make_list
from sitetrack.access.models import Person
from tests import builders as make
from tests.desk.looking import signed_in
from tests.desk.test_browser import LAUNCH, LOOKS, SERIOUS, page_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DESK = (1440, "light", "en")
PICTURES = os.environ.get("PICTURES", "")
ALL_LOOKS = list(product((360, 1440), ("light", "dark"), ("en", "es")))
# The drawing below, at 1:100: a building of 20 by 10 m, its lower left corner 50 mm into the sheet.
SHEET, CORNER, ACROSS, DOWN = (300, 200), 50, 200, 100


def drawing() -> bytes:
    """Two pages: a title sheet, and a floor of rooms off a corridor with a dimension line under it."""
    file = BytesIO()
    canvas = Canvas(file, pagesize=(SHEET[0] * mm, SHEET[1] * mm))
    canvas.drawString(20 * mm, 20 * mm, "title sheet")
    canvas.showPage()
    canvas.rect(CORNER * mm, CORNER * mm, ACROSS * mm, DOWN * mm)
    canvas.rect(CORNER * mm, (CORNER + 40) * mm, ACROSS * mm, 20 * mm)
    for n in range(1, 5):
        x = CORNER + n * ACROSS / 5
        canvas.line(x * mm, CORNER * mm, x * mm, (CORNER + 40) * mm)
        canvas.line(x * mm, (CORNER + 60) * mm, x * mm, (CORNER + DOWN) * mm)
        canvas.drawString((x - 30) * mm, (CORNER + 20) * mm, f"room {n}")
    canvas.line(CORNER * mm, 40 * mm, (CORNER + ACROSS) * mm, 40 * mm)
    canvas.drawCentredString((CORNER + ACROSS / 2) * mm, 42 * mm, "20.00 m")
    canvas.save()
    return file.getvalue()


@pytest.fixture(autouse=True)
def _uploads(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"


@pytest.fixture
def job() -> Site:
    return make.site("clinic", units="metric")


@pytest.fixture
def chief(job: Site) -> Person:
    return make.supervisor(job)


@pytest.fixture
def session(chief: Person) -> Client:
    return signed_in(chief)


@pytest.fixture
def openings(job: Site) -> list[Opening]:
    made = [make.opening(job, f"10{n}", walk=n, room_from="Corridor", room_to=f"Room {n}") for n in range(1, 7)]
    for opening, last in zip(made, ("receive", "set", "anchor", "board"), strict=False):
        make.work_up_to(opening, last)
    return made


@pytest.fixture
def listed(job: Site, chief: Person, openings: list[Opening]) -> OpeningList:
    return make_list(site=job, picked=[each.pk for each in openings[:4]], who=chief, now=make.MONDAY)


@pytest.fixture
def stands(openings: list[Opening]) -> Iterator[None]:
    """Looked at once the browser has let go of the thread."""
    yield
    plan = FloorPlan.objects.get()
    assert (plan.page, plan.pages) == (2, 2)
    assert plan.metres_per_px == pytest.approx(SHEET[0] / 10 / plan.width, rel=0.005)
    first, second = (Opening.objects.get(pk=each.pk) for each in openings[:2])
    assert first.x is not None
    assert first.y is not None
    assert second.x is not None
    assert second.y is not None
    assert (first.x, first.y) == (pytest.approx(7.0, abs=0.06), pytest.approx(9.0, abs=0.06))
    assert (second.x - first.x, second.y - first.y) == (pytest.approx(10, abs=0.06), pytest.approx(2, abs=0.06))


@pytest.fixture
def chromium(session: Client, listed: OpeningList, request: pytest.FixtureRequest) -> Iterator[Browser]:
    if "stands" in request.fixturenames:
        request.getfixturevalue("stands")  # set up first, so that it looks last, without a browser
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield browser
        browser.close()


def press(page: Page, on: Locator, x: float, y: float) -> None:
    """Press on a drawing of the sheet at these millimetres of it, from the left and from the bottom."""
    down = 1 - y / SHEET[1]
    on.evaluate(
        """(each, down) => { const room = each.closest('.plan-room'); room.scrollIntoView();
        room.scrollTop = down * each.getBoundingClientRect().height - room.clientHeight / 2; }""",
        down,
    )
    box = on.bounding_box()
    assert box
    page.mouse.click(box["x"] + x / SHEET[0] * box["width"], box["y"] + down * box["height"])


def placed(page: Page, base: str) -> None:
    """Go the whole way: send the file, choose its second page, press two points, set an opening down."""
    page.goto(f"{base}/plan")
    page.get_by_label("PNG, JPEG, WebP or PDF").set_input_files(
        {"name": "A-101.pdf", "mimeType": "application/pdf", "buffer": drawing()}
    )
    page.get_by_role("button", name="Take the picture").click()
    page.get_by_role("link", name="Picture", exact=True).click()
    page.get_by_label("Another page").fill("2")
    page.get_by_role("button", name="Draw this page").click()
    page.get_by_role("link", name="Scale", exact=True).click()
    sheet = page.locator(".scale-sheet")
    press(page, sheet, CORNER, CORNER)
    press(page, sheet, CORNER + ACROSS, CORNER)
    page.get_by_label("Distance between them").fill("20")
    page.get_by_role("button", name="Put to scale").click()
    page.get_by_role("button", name="101", exact=True).click()
    press(page, page.locator(".plan-picture"), CORNER + 20, CORNER + 40)
    expect(page.locator("[data-said]")).to_contain_text("101 set down at")
    press(page, page.locator(".plan-picture"), CORNER + 120, CORNER + 60)  # the next in the list follows
    expect(page.locator("[data-said]")).to_contain_text("102 set down at")
    expect(page.locator("[data-tray-count]")).to_have_text("4")


@pytest.mark.usefixtures("stands")
def test_a_page_is_chosen_put_to_scale_and_an_opening_stands_on_it(
    openings: list[Opening], chromium: Browser, live_server: Any, session: Client, job: Site
) -> None:
    """At 1:100 a millimetre of the sheet is 0.1 m, so 20 mm right of the building's corner and 40 up are 2 and 4 m.

    A press is as good as a pixel of the screen, here some 0.03 m; twice that is allowed for two presses.
    """
    base = f"{live_server.url}/s/{job.code}/floors/{openings[0].floor_id}"
    page = page_in(chromium, live_server.url, session, DESK)
    placed(page, base)
    page.get_by_role("link", name="Back to").click()
    expect(page.locator("image.plan-picture")).to_be_attached()
    expect(page.locator(".plan a")).to_have_count(2)


@pytest.mark.parametrize("look", ALL_LOOKS if PICTURES else LOOKS[:2], ids=lambda look: "-".join(map(str, look)))
def test_every_page_of_a_floor_with_its_plan_is_sound(
    openings: list[Opening],
    listed: OpeningList,
    chromium: Browser,
    live_server: Any,
    session: Client,
    job: Site,
    look: tuple[int, Any, str],
) -> None:
    site = f"{live_server.url}/s/{job.code}"
    base = f"{site}/floors/{openings[0].floor_id}"
    placed(page_in(chromium, live_server.url, session, DESK), base)
    page = page_in(chromium, live_server.url, session, look)
    faults = []
    steps = {step: f"{base}/plan?step={step}" for step in ("picture", "scale", "positions")}
    shown = steps | {
        "floor": base, "rows": f"{base}?as=list", "list": f"{site}/lists/{listed.pk}",
        "order": f"{site}/lists/{listed.pk}/order?stage=set&who=Night+crew&day=2026-03-02",
        "kit": f"{site}/kit?list={listed.pk}", "labels": f"{site}/labels?list={listed.pk}",
    }  # fmt: skip
    for name, address in shown.items():
        page.goto(address)
        found = Axe().run(page).response["violations"]
        faults += [(name, v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in SERIOUS]
        if page.evaluate("document.documentElement.scrollWidth") > look[0]:
            faults.append((name, "runs off the side", ""))
        if PICTURES:
            of = f"{PICTURES}/{name}-{'-'.join(map(str, look))}"
            page.screenshot(path=f"{of}.png", full_page=True)
            if look[:2] == (1440, "light"):
                page.pdf(path=f"{of}.pdf", prefer_css_page_size=True)
    assert faults == []
