"""A day in the stairwell: everything reported without a network arrives, once."""

import hashlib

import pytest

from tests.field.conftest import Phone
from tests.field.fake_server import FakeServer
from tests.field.fake_site import FLOOR_IDS, signable_change
from tests.field.movements import READINGS, read_frame
from tests.field.pictures import picture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_forty_openings_reported_offline_all_arrive_once(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    numbers = [f"2{n:03}" for n in range(1, 41)]
    phone.offline()
    for n, number in enumerate(numbers, 1):
        read_frame(phone, number, picture(n))
        if n == 15:
            phone.page.reload()
            phone.page.locator("main h1").wait_for()
        if n == 30:
            phone.close()
            phone.open(offline=True)
    assert [item["state"] for item in phone.queue()] == ["waiting"] * 40
    assert phone.page.locator(".tb-send").inner_text() == "40 to send"
    assert server.stored == {}

    phone.offline(False)
    phone.send()
    phone.page.get_by_text("All sent").first.wait_for()
    phone.page.wait_for_function("() => !document.querySelector('main').innerText.includes('photos to send')")

    items = server.items()
    assert [item["opening"] for item in items] == numbers
    assert {item["action"] for item in items} == {"finish"}
    assert [item["counter"] for item in items] == list(range(1, 41))
    assert len({item["id"] for item in items}) == 40
    assert all(item["readings"] == READINGS for item in items)
    assert all(
        item["answers"] == {"spreaders_in": True, "frame_undented": True, "inspected_in_wall": True} for item in items
    )
    assert sum(len(batch) for batch in server.pushes) == 40
    named = [sha for item in items for sha in item["photos"]]
    assert len(set(named)) == len(named) == 40
    assert set(server.photos) == set(named)
    assert all(hashlib.sha256(body).hexdigest() == sha for sha, body in server.photos.items())
    assert all(body.startswith(b"\xff\xd8\xff") for body in server.photos.values())
    assert phone.stored("photos") == []
    assert {item["state"] for item in phone.queue()} == {"sent"}


def test_page_opens_without_a_network_once_it_was_there(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.close()
    phone.open("#/site/clinic/opening/2003", offline=True)
    phone.page.get_by_role("heading", name="2003").wait_for()
    phone.show("#/site/hospital/opening/2003")
    phone.page.get_by_text("This label is of site hospital").wait_for()


def test_half_typed_readings_survive_a_closed_page(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.show("#/opening/2001/trueness")
    phone.page.fill("#r-width_head", "36 1/1")
    phone.page.locator("#r-width_mid").focus()
    phone.page.get_by_role("button", name='36"', exact=True).click()
    phone.page.get_by_role("button", name="1/8", exact=True).click()
    phone.page.get_by_role("button", name="+ 1/32").click()
    phone.page.get_by_role("button", name="Done").click()
    phone.page.fill("#note", "wall is 1/8 out")
    phone.page.wait_for_timeout(300)
    phone.close()
    phone.open("#/opening/2001/trueness")
    assert phone.page.locator("#r-width_head").input_value() == "36 1/1"
    assert phone.page.locator("#r-width_mid").input_value() == '36 5/32"'
    assert phone.page.locator("#note").input_value() == "wall is 1/8 out"
    phone.show("#/opening/2001")
    phone.page.get_by_text("Half-made report on this phone").wait_for()
    assert phone.queue() == []


def test_report_made_here_shows_at_once_and_moves_the_work_on(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    phone.show("#/opening/1001/match")
    for yes in phone.page.get_by_role("button", name="Yes").all():
        yes.click()
    phone.page.get_by_role("button", name="Report the reading: passes").click()
    phone.page.get_by_text("You reported").wait_for()
    phone.show("#/")
    phone.page.select_option("#floor", label="Level 1 (5)")
    phone.page.locator(".work-row").first.wait_for()
    # Matched; set waits for the floor level and the lines, which are others' work.
    assert "1001" not in phone.page.locator(".work-row .number").all_inner_texts()
    phone.show("#/opening/1001/set")
    phone.page.get_by_text("Still to be done before this").wait_for()


def test_count_of_a_floor_is_that_of_its_list(phone: Phone, server: FakeServer) -> None:
    server.changes.append(signable_change())
    phone.enrol()
    phone.page.select_option("#floor", FLOOR_IDS[1])
    phone.page.locator(".work-row .number", has_text="2001").wait_for()
    assert phone.page.locator("#floor option:checked").inner_text() == "Level 2 (45)"
    assert phone.page.locator(".work-row").count() == 45


def test_walk_goes_on_from_the_opening_just_reported(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.offline()
    phone.show("#/")
    phone.page.select_option("#floor", label="Level 2 (45)")
    phone.show("#/opening/2020/trueness")
    phone.page.get_by_role("button", name="Start").click()
    phone.page.get_by_text("You reported").wait_for()
    phone.show("#/")
    numbers = phone.page.locator(".work-row .number").all_inner_texts()
    # A frame every three metres, on alternate sides: its neighbours are nearest.
    assert numbers[0] == "2020"
    assert set(numbers[1:3]) <= {"2018", "2019", "2021", "2022"}


def test_another_phone_of_the_same_make_keeps_nothing_of_this_one(phone: Phone, server: FakeServer) -> None:
    phone.enrol()
    phone.show("#/phone")
    phone.page.get_by_role("button", name="Empty this phone").click()
    assert phone.stored("openings") != []
    phone.page.get_by_role("button", name="Yes, erase it all").click()
    phone.page.get_by_role("heading", name="Enroll this phone").wait_for()
    for name in ("openings", "records", "queue", "photos", "drafts"):
        assert phone.stored(name) == [], name
