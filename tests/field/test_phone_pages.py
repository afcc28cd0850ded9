"""The phone pages in a browser: enrolled, offline, and back."""

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_enrolled_phone_shows_my_work_in_walking_order(phone, server) -> None:
    phone.enrol()
    phone.page.select_option("#floor", label="Level 2 (45)")
    phone.page.locator(".work-row .number", has_text="2001").wait_for()
    numbers = phone.page.locator(".work-row .number").all_inner_texts()
    assert numbers == [f"2{n:03}" for n in range(1, 46)]
    phone.page.screenshot(path="/tmp/field-shots/work.png")
