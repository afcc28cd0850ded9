"""What a gloved hand does by mistake costs nothing: it is asked, named and told before it counts."""

from typing import Any

import pytest

from tests.field.conftest import Phone

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def answer(phone: Phone, question: str, key: str) -> None:
    phone.page.locator(".question", has_text=question).get_by_role("button", name=key).click()


def test_work_that_is_not_as_its_checklist_asks_is_named_before_it_is_reported(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.offline()
    phone.show("#/opening/2001/set")
    answer(phone, "Both feet anchored", "No")
    answer(phone, "Braced", "Yes")
    page.get_by_role("button", name="Finished", exact=True).click()
    named = page.locator(".asked li").all_inner_texts()
    assert len(named) == 4
    assert named[1].endswith("answered No, expected Yes")
    assert named[0].endswith("not answered")
    assert phone.queue() == []
    anyway = page.get_by_role("button", name="Finished all the same")
    assert anyway.is_disabled()
    anyway.click()
    page.locator(".own", has_text="You reported").wait_for()
    (item,) = phone.queue()
    assert item["report"]["action"] == "finish"
    assert item["report"]["answers"] == {"feet_anchored": False, "braced": True}


def test_question_about_a_checklist_goes_when_an_answer_changes(phone: Phone) -> None:
    phone.enrol()
    phone.show("#/opening/2001/stud")
    phone.page.get_by_role("button", name="Finished", exact=True).click()
    phone.page.locator(".asked").wait_for()
    answer(phone, "Studs stand", "Yes")
    assert phone.page.locator(".asked").is_hidden()


def test_two_quick_taps_do_not_empty_a_phone(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.show("#/phone")
    key = page.get_by_role("button", name="Empty this phone")
    key.evaluate("key => key.scrollIntoView({ block: 'center' })")
    box = key.bounding_box()
    assert box
    page.touchscreen.tap(box["x"] + 40, box["y"] + 30)
    page.touchscreen.tap(box["x"] + 40, box["y"] + 30)
    sure = page.get_by_role("button", name="Yes, erase it all")
    sure.wait_for()
    assert sure.is_disabled()
    sure.evaluate("key => { key.click(); key.click(); }")
    page.wait_for_timeout(200)
    assert phone.stored("openings") != []


def test_half_made_reports_are_named_before_they_are_erased(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.show("#/opening/2007/receive/note")
    page.fill("#note", "half a thought")
    phone.show("#/opening/2003/set")
    answer(phone, "Braced", "Yes")
    phone.show("#/phone")
    page.get_by_role("button", name="Empty this phone").click()
    told = page.locator(".asked .problem").inner_text()
    assert told == "2 half-made reports are erased too: 2003, 2007."


def test_number_of_a_draft_is_read_from_its_name(modules: Any) -> None:
    told = modules.evaluate(
        """async (names) => {
          const { numberOfDraft } = await import("/static/field/drafts.js");
          return names.map(numberOfDraft);
        }""",
        ["2001 set", "2001 set cannot", "A 12 set", "A 12 set note"],
    )
    assert told == ["2001", "2001", "A 12", "A 12"]


def test_reading_without_its_side_is_asked_for_and_never_taken_for_plus(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    page.locator("#r-hinge_plumb_side").focus()
    page.get_by_role("button", name="1/16", exact=True).click()
    assert page.locator(".dock-now").inner_text().split("\n") == ['± 1/16"', "which side?"]
    assert page.locator("#r-hinge_plumb_side").input_value() == ""
    page.get_by_role("button", name="Next ›").click()
    page.get_by_text("Choose the side first.").wait_for()
    page.get_by_role("button", name="Done").click()
    assert page.locator(".dock").is_visible()
    page.locator("#r-width_head").focus()
    assert page.evaluate("document.activeElement.id") == "r-hinge_plumb_side"
    page.get_by_role("button", name="Report the reading").click()
    assert phone.queue() == []
    page.get_by_role("button", name="top away from strike").click()
    assert page.locator("#r-hinge_plumb_side").input_value() == '-1/16"'
    page.get_by_role("button", name="Next ›").click()
    assert page.locator(".reading-active label").inner_text() != "Hinge jamb plumb, in the wall"


def test_side_may_come_first_and_nothing_out_needs_none(phone: Phone) -> None:
    page = phone.page
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    page.locator("#r-twist").focus()
    page.get_by_role("button", name="strike top to pull side").click()
    page.get_by_role("button", name="1/32", exact=True).click()
    assert page.locator("#r-twist").input_value() == '1/32"'
    page.get_by_role("button", name="exactly true").click()
    assert page.locator("#r-twist").input_value() == '0"'
    page.get_by_role("button", name="Done").click()
    page.locator(".dock").wait_for(state="hidden")


LARGE_TYPE = "document.documentElement.style.fontSize = '27px'"  # half as large again


@pytest.mark.parametrize("name", ["width_head", "twist"])
def test_keys_of_a_reading_stay_on_the_screen_in_large_type(phone: Phone, name: str) -> None:
    page = phone.page
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    page.evaluate(LARGE_TYPE)
    page.locator(f"#r-{name}").focus()
    box = page.locator(".dock").bounding_box()
    assert box
    assert box["y"] >= 740 * 0.2
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.locator(".dock").evaluate("dock => dock.scrollWidth <= dock.clientWidth")
    done = page.get_by_role("button", name="Done").bounding_box()
    assert done
    assert done["y"] + done["height"] <= 740


GAPS = """selector => [...document.querySelectorAll(selector)].map((group) => {
  const boxes = [...group.children].map((each) => each.getBoundingClientRect());
  const across = boxes.slice(1).map((box, n) => box.left - boxes[n].right).filter((gap) => gap >= 0);
  return Math.min(...across);
})"""


def test_keys_that_are_easily_mistaken_stand_apart(phone: Phone) -> None:
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    phone.page.locator("#r-width_head").focus()
    for selector in (".answers", ".dock .key-grid"):
        gaps = phone.page.evaluate(GAPS, selector)
        assert gaps
        assert min(gaps) >= 8, selector


def test_note_without_words_or_picture_says_what_it_lacks(phone: Phone) -> None:
    phone.enrol()
    phone.show("#/opening/2001/receive/note")
    phone.page.get_by_role("button", name="Keep the note").click()
    phone.page.get_by_text("Write the note or take a photo first.").wait_for()
    assert phone.page.evaluate("document.activeElement.id") == "note"
    assert phone.queue() == []
