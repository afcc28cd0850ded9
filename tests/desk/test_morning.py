"""The supervisor's morning in a browser: an alert from the breach to its end, a cart loaded, a revision followed."""

import email
import email.policy
import json
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from inspections.services.posting_webhooks import post_due
from inspections.services.sending import send_alerts
from inspections.services.webhooks import add_webhook
from openings.models import Opening, Site
from sitetrack.access.roles import Trade
from sitetrack.kit.clock import now as read_clock
from tests import builders as make
from tests.desk.test_browser import LAUNCH, LOOKS, page_in
from tests.inspections.services.test_sending_for_real import Office, office  # noqa: F401 - a fixture
from tests.openings.intake import sheets
from tests.receiver import Receiver

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _data_beside_the_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    """The browser's driver keeps an event loop in this thread, for which Django would refuse its data base."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")


@pytest.fixture
def browser(job: Site, settings: Any, tmp_path: Path) -> Iterator[Browser]:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=LAUNCH)
        yield started
        started.close()


@pytest.fixture(params=[LOOKS[0], (1440, "light", "en")], ids=["phone", "desk"])
def page(request: Any, browser: Browser, live_server: Any, desk: Client) -> Page:
    """The supervisor's, signed in."""
    return page_in(browser, live_server.url, desk, request.param)


def boarded_unproved(job: Site) -> tuple[Opening, datetime]:
    """An opening boarded at a time, a check before that not yet known of."""
    opening = make.opening(job, "B1-204")
    at = make.work_up_to(opening, "anchor") + 2 * HOUR
    make.check_in(make.crew(job, Trade.DRYWALL), opening, "board", "start", at=at)
    return opening, at


def proved_after_all(opening: Opening, at: datetime) -> None:
    """A crew's phone comes back from the stairwell: the frame was read and signed before it was boarded."""
    hand, inspector = make.crew(opening.site), make.inspector(opening.site)
    phone, _token = make.device(opening.site, hand)
    read = make.report(
        opening, "trueness", at=at - HOUR, counter=7, readings=make.TRUE_READINGS, answers=make.TRUENESS_ANSWERS
    )
    make.record(hand, read, of=opening.site, now=at + 3 * HOUR, phone=phone)
    signed = make.report(opening, "trueness", "sign", at=at - HOUR + make.MINUTE, about=read.id)
    make.record(inspector, signed, of=opening.site, now=at + 3 * HOUR)


def test_a_breach_is_told_acknowledged_and_closed_by_evidence(
    job: Site,
    receiver: Receiver,
    office: Office,  # noqa: F811
    page: Page,
    live_server: Any,
) -> None:
    events, who = ["alert.raised", "alert.closed"], make.supervisor(job)
    hook, _secret = add_webhook(site=job, url=receiver.url, events=events, who=who, now=read_clock())
    opening, at = boarded_unproved(job)

    page.goto(f"{live_server.url}/s/{job.code}/today")
    wrong = page.get_by_role("listitem").filter(has_text="Boarded before checked").first
    expect(wrong.get_by_role("link", name="B1-204", exact=True)).to_be_visible()

    assert send_alerts(now=at + HOUR) == 1
    ((to, content),) = office.taken
    told = email.message_from_bytes(content, policy=email.policy.default).get_content()
    assert to == who.email
    assert "B1-204" in told
    post_due(webhook_id=hook.pk, now=read_clock())
    assert [json.loads(body)["data"]["opening"] for _headers, body in receiver.came] == ["B1-204"]

    (link,) = re.findall(r"(/s/\S+/alerts\?alert=\S+)", told)
    page.goto(live_server.url + link)
    page.get_by_role("button", name="Acknowledge Boarded").click()
    expect(page.get_by_text(f"Acknowledged by {who}")).to_be_visible()

    proved_after_all(opening, at)
    page.goto(f"{live_server.url}/s/{job.code}/today")
    expect(page.get_by_text("No open alert.")).to_be_visible()
    page.goto(f"{live_server.url}/s/{job.code}/alerts?show=closed")
    closed = page.get_by_role("listitem").filter(has_text="B1-204").filter(has_text="order was right")
    expect(closed.first).to_contain_text("Closed by evidence")
    post_due(webhook_id=hook.pk, now=read_clock())
    assert "alert.closed" in [json.loads(body)["type"] for _headers, body in receiver.came]
    assert send_alerts(now=at + 4 * HOUR) == 0


def test_from_the_ready_list_to_the_kit_of_what_is_ready(job: Site, page: Page, live_server: Any) -> None:
    for number, last in (("A-101", "anchor"), ("A-102", "anchor"), ("A-103", "final")):
        make.work_up_to(make.opening(job, number), last)
    page.goto(f"{live_server.url}/s/{job.code}/today")
    page.get_by_role("link", name=re.compile("L1.*Frame crew")).click()
    page.get_by_role("link", name="As a list").click()
    page.get_by_label("Pick A-101").check()
    page.get_by_label("Pick A-102").check()
    page.get_by_role("button", name="List the openings picked").click()
    page.get_by_role("link", name="Kit list").click()
    frames = page.get_by_role("table", name="Frames by number")
    expect(frames).to_contain_text("A-101")
    expect(frames).to_contain_text("A-102")
    expect(frames).not_to_contain_text("A-103")
    with page.expect_download() as loading:
        page.get_by_role("link", name="CSV").click()
    assert "A-102" in Path(loading.value.path()).read_text(encoding="utf-8-sig")


def taken_in(page: Page, address: str, path: Path) -> None:
    page.goto(address)
    page.locator("#file").set_input_files(path)
    page.locator("main form button").first.click()
    page.locator("form[action$='take-in'] button").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Revision")


def test_from_a_revision_to_the_openings_it_changed(job: Site, page: Page, live_server: Any, tmp_path: Path) -> None:
    address = f"{live_server.url}/s/{job.code}/schedule"
    taken_in(page, address, sheets.xlsx(tmp_path / "first.xlsx", sheets.PLAIN))
    make.work_up_to(Opening.objects.get(site=job, number="102"), "set")
    rows = [[*row[:-1], "LHR" if row[0] == "101A" else "RHR" if row[0] == "102" else row[-1]] for row in sheets.PLAIN]
    taken_in(page, address, sheets.xlsx(tmp_path / "second.xlsx", [sheets.PLAIN[0], *rows[1:]]))

    changed = page.get_by_role("table", name="What the revision changed")
    expect(changed.get_by_role("link")).to_have_text(["101A", "102"])
    expect(changed.get_by_role("row").filter(has_text="102")).to_contain_text("RHR")
    changed.get_by_role("link", name="102").click()
    expect(page.get_by_role("heading", level=1, name="102")).to_be_visible()
    expect(page.get_by_text("Schedule changed after the frame was set").first).to_be_visible()
    page.goto(f"{live_server.url}/s/{job.code}/today")
    wrong = page.get_by_role("listitem").filter(has_text="Schedule changed after the frame was set")
    expect(wrong.get_by_role("link", name="102", exact=True)).to_be_visible()
    expect(wrong).to_have_count(1)  # the other frame does not stand yet
