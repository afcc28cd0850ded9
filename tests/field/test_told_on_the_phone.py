"""What the phone tells a hand is the whole of it, in the hand's own language."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright

from tests.field.conftest import Phone
from tests.field.fake_server import FakeServer
from tests.field.fake_site import PLAN, opening_change, signable_change
from tests.field.movements import note

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def spanish_phone(playwright: Playwright, server: FakeServer, live_server: Any, tmp_path: Path) -> Iterator[Phone]:
    """A phone set to Spanish, on a site whose language is English."""
    taken_out = Phone(playwright, tmp_path / "memory", live_server.url, locale="es-MX")
    yield taken_out
    taken_out.close()
    assert taken_out.problems == []


def enrol_in_spanish(phone: Phone) -> None:
    phone.page.goto(f"{phone.address}/field/#code=GOODCODE23")
    phone.page.get_by_role("button", name="Dar de alta").click()
    phone.page.locator(".work-row, .empty").first.wait_for()


def test_phone_set_to_spanish_stays_spanish_once_enrolled_on_an_english_site(spanish_phone: Phone) -> None:
    enrol_in_spanish(spanish_phone)
    spanish_phone.page.reload()
    spanish_phone.page.get_by_role("heading", name="Mi trabajo").wait_for()
    spanish_phone.show("#/phone")
    spanish_phone.page.get_by_role("button", name="English").click()
    spanish_phone.page.reload()
    spanish_phone.page.get_by_role("heading", name="This phone").wait_for()


@pytest.mark.parametrize(
    ("chosen", "of_phone", "of_site", "told"),
    [
        ("en", ["es-MX"], "es", "en"),
        (None, ["es-MX", "en"], "en", "es"),
        (None, ["nah", "es-419", "en"], "en", "es"),
        (None, ["zh-Hans"], "es", "es"),
        (None, [], None, "en"),
    ],
)
def test_own_choice_comes_first_then_the_phones_languages_then_the_sites(
    modules: Any, chosen: str | None, of_phone: list[str], of_site: str | None, told: str
) -> None:
    script = "async (given) => (await import('/static/field/language.js')).firstLanguage(...given)"
    assert modules.evaluate(script, [chosen, of_phone, of_site]) == told


OTHER_PLAN = "0195575e-30c0-7a31-8f3b-5b6a2f0d9e01"


def test_stage_of_a_report_is_called_as_the_plan_of_its_opening_calls_it(phone: Phone, server: FakeServer) -> None:
    def renamed(stage: dict[str, Any]) -> dict[str, Any]:
        own_title = {"en": "Frame grouted", "es": "Marco con lechada"}
        return {**stage, "title": own_title} if stage["code"] == "set" else stage

    lone = {"code": "lone", "title": {"en": "Only in the other plan", "es": "Solo allá"}, "after": []}
    stages = [*map(renamed, PLAN["stages"]), lone]
    own = {"type": "plan", "id": OTHER_PLAN, "data": {"code": "own", "name": {}, "stages": stages}}
    server.changes += [own, opening_change(60, number="MASON-1", plan=OTHER_PLAN)]
    phone.enrol()
    phone.offline()
    reports = """async (given) => {
      const { openStore } = await import("/static/field/store.js");
      const { enqueue } = await import("/static/field/queue.js");
      const db = await openStore();
      for (const [opening, stage] of given) {
        await enqueue(db, { opening, stage, action: "note" }, { site: "s", person: "p", now: Date.now() });
      }
    }"""
    phone.page.evaluate(reports, [["MASON-1", "set"], ["2001", "set"], ["2001", "lone"], ["2001", "gone"]])
    phone.show("#/waiting")
    told = phone.page.locator(".item > p:first-child").all_inner_texts()
    assert [line.split(" ", 1)[1].split(":")[0].strip() for line in told] == [
        "Frame grouted", "Frame stood, spread and base-anchored", "Only in the other plan", "gone",
    ]  # fmt: skip


def test_width_an_inch_short_is_out_and_not_over_in_either_language(spanish_phone: Phone) -> None:
    enrol_in_spanish(spanish_phone)
    spanish_phone.show("#/opening/2001/trueness")
    spanish_phone.page.fill("#r-width_head", "35")
    assert spanish_phone.page.locator("#v-width_head").inner_text() == '✗ fuera por 31/32"'
    spanish_phone.page.fill("#r-width_head", "36 1/32")
    assert spanish_phone.page.locator("#v-width_head").inner_text().startswith("✓ bien, quedan ")


def test_refused_report_is_told_on_every_page_until_it_is_dealt_with(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    note(phone, "2001", "refuse this")
    page.locator(".way-refused").wait_for()
    phone.rest()
    phone.show("#/")
    assert page.locator(".tb-send").inner_text() == "✗ 1 refused"
    assert "1 refused" in page.locator(".ways").inner_text()
    phone.offline()
    note(phone, "2002", "waits")
    page.get_by_text("1 to send · ✗ 1 refused").wait_for()
    phone.offline(False)
    phone.send()
    assert "All sent" not in page.locator("body").inner_text()
    page.get_by_role("button", name="Put away").click()
    page.locator(".tb-send", has_text="All sent").wait_for()
    assert page.locator(".way-refused").count() == 0


def test_check_in_shows_what_the_schedule_tells_of_the_frame(phone: Phone) -> None:
    phone.enrol()
    phone.show("#/opening/1001/match")
    facts = phone.page.locator(".known-facts")
    told = dict(zip(facts.locator("dt").all_inner_texts(), facts.locator("dd").all_inner_texts(), strict=True))
    assert told == {
        "Opening": "3'-0\" × 7'-0\"",
        "Hand": "RH",
        "Jamb depth": '5 3/4"',
        "Fire rating": "45 minutes",
        "Hardware set": "HS-04",
    }


def test_every_fact_the_schedule_leaves_out_is_said_to_be_unknown(phone: Phone, server: FakeServer) -> None:
    server.changes.append(opening_change(61, number="BARE-1", attributes={}))
    phone.enrol()
    phone.show("#/opening/BARE-1")
    phone.page.get_by_text("From the schedule").click()
    assert phone.page.locator(".facts .unknown").count() == phone.page.locator(".facts dd").count()
    phone.show("#/opening/BARE-1/set")
    assert phone.page.locator(".known-facts").count() == 0


def test_signer_sees_what_is_signed_and_when_it_was_read(phone: Phone, server: FakeServer) -> None:
    signable = signable_change()
    signable["data"]["standing"]["trueness"]["since"] = "2026-03-02T14:05:09Z"
    server.changes.append(signable)
    phone.enrol()
    phone.show("#/opening/SIGN-1/trueness/sign")
    told = phone.page.locator(".note", has_text="passes").inner_text()
    assert told.startswith("✓ passes read Mar 2")
    # In the time zone of the site.
    assert "08:05" in told


def hold_change(opening: str, **told: Any) -> dict[str, Any]:
    data = {"opening": opening, "stage": "trueness", "opened_at": "2026-03-02T14:05:09Z", "from_check": True}
    return {"type": "hold", "id": f"h-{opening}", "data": data | told}


def test_hold_is_told_line_by_line_in_the_language_of_the_phone(spanish_phone: Phone, server: FakeServer) -> None:
    both, one = opening_change(62, number="HELD-1"), opening_change(63, number="HELD-2")
    reasons = {"en": "Check failed:\ntwist out by 1/16", "es": "No pasó:\ntorcedura fuera por 1/16"}
    server.changes += [
        both, one,
        hold_change(both["id"], reason=reasons["en"], reasons=reasons),
        hold_change(one["id"], reason="Only as it was written"),
    ]  # fmt: skip
    enrol_in_spanish(spanish_phone)
    spanish_phone.show("#/opening/HELD-1")
    assert spanish_phone.page.locator(".hold-reason").inner_text() == reasons["es"]
    spanish_phone.show("#/opening/HELD-2")
    assert spanish_phone.page.locator(".hold-reason").inner_text() == "Only as it was written"
