"""Finding an opening by its number, its frame mark or a room."""

import re
from typing import Any

import pytest
from django.test import Client

from inspections.selectors.finding import MOST_FOUND
from openings.models import Site
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def found(desk: Client, job: Site, typed: str) -> list[str]:
    """The numbers listed, in order."""
    return re.findall(r'class="list-mark" href="[^"]*/openings/([^"]+)"', page(desk, job, typed).content.decode())


def page(desk: Client, job: Site, typed: str) -> Any:
    return desk.get(f"/s/{job.code}/find", {"number": typed})


def test_the_number_itself_in_whatever_case_goes_straight_there(job: Site, desk: Client) -> None:
    make.opening(job, "B1-201")
    make.opening(job, "B1-2014")
    assert page(desk, job, " b1-201 ")["Location"] == f"/s/{job.code}/openings/B1-201"


def test_numbers_come_before_marks_and_marks_before_rooms(job: Site, desk: Client) -> None:
    make.opening(job, "X-9", room_to="Vault F2", walk=1)
    make.opening(job, "X-8", mark="F2", walk=2)
    make.opening(job, "X-F2", walk=3)
    make.opening(job, "F2-1", walk=4)
    make.opening(job, "X-7", mark="F3", walk=5)
    assert found(desk, job, "f2") == ["F2-1", "X-F2", "X-8", "X-9"]


def test_every_word_must_be_there_in_any_of_the_places(job: Site, desk: Client) -> None:
    make.opening(job, "201", mark="F1", room_from="North stair")
    make.opening(job, "202", mark="F2", room_from="North stair")
    make.opening(job, "203", mark="F1", room_from="South stair")
    assert found(desk, job, "stair north  f1") == ["201"]
    assert found(desk, job, "stair west") == []


def test_a_hit_says_where_it_is_and_how_it_stands(job: Site, desk: Client) -> None:
    held = make.opening(job, "B1-201", mark="F1", room_from="Corridor", room_to="Store")
    make.check_in(make.crew(job), held, "receive", "hold", note="wrong hand")
    make.alert(held)
    make.work_up_to(make.opening(job, "B1-202", mark="F1"), "receive")
    said = words(page(desk, job, "f1"))
    for word in (str(held.floor), "Corridor → Store", "on hold", "1 alert", "Frame crew"):
        assert word in said, word
    assert "2 openings have “f1”" in said


def test_only_this_site_and_only_for_those_who_stand_on_it(job: Site, desk: Client) -> None:
    make.opening(job, "B1-201", room_to="Store")
    other = make.site("depot")
    make.opening(other, "D-1", room_to="Store")
    assert found(desk, job, "store") == ["B1-201"]
    assert page(signed_in(make.supervisor(other)), job, "store").status_code == 404


def test_more_than_a_page_of_hits_is_said(job: Site, desk: Client) -> None:
    make.openings(job, MOST_FOUND + 1, mark="F7")
    assert len(found(desk, job, "f7")) == MOST_FOUND
    assert f"More than {MOST_FOUND} openings" in words(page(desk, job, "f7"))


def test_what_is_typed_is_text_and_nothing_typed_is_asked_for(job: Site, desk: Client) -> None:
    assert "<b>1" not in page(desk, job, "<b>1").content.decode()
    assert "a frame mark or a room" in words(page(desk, job, "  "))
    make.opening(job, "100", room_to="Store")
    assert found(desk, job, "%") == []
    assert found(desk, job, "_") == []
