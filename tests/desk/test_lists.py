"""Openings picked on a floor: the list, its walk, kit, labels and work order."""

import re
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from openings.models import Opening, OpeningList, Site
from openings.services.lists import KEPT, make_list
from sitetrack.field.label_grids import GRIDS
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def pick(client: Client, floor: Any, query: str = "", **form: Any) -> Any:
    return client.post(f"/s/{floor.site.code}/floors/{floor.pk}/pick{query}", form)


def listed_of(answer: Any) -> OpeningList:
    assert answer.status_code == 302, answer.content
    found: OpeningList = OpeningList.objects.get(pk=answer["Location"].rpartition("/")[2])
    return found


def test_the_openings_ticked_come_in_walking_order(job: Site, desk: Client) -> None:
    """From one end to the nearest next: 0, 2, 5 m along a corridor, however they were ticked."""
    far, near, middle = (make.opening(job, n, x=x, y=0.0) for n, x in (("F", 5.0), ("N", 0.0), ("M", 2.0)))
    make.opening(job, "not me")
    listed = listed_of(pick(desk, far.floor, o=["F", "n", "M"]))
    assert listed.openings == [str(each.pk) for each in (near, middle, far)]
    markup = desk.get(f"/s/{job.code}/lists/{listed.pk}").content.decode()
    assert re.findall(r'/openings/(\w)"', markup)[:3] == ["N", "M", "F"]


def test_all_that_the_filters_leave_are_picked_at_once(job: Site, desk: Client) -> None:
    rated, _plain = make.opening(job, rating_minutes=45), make.opening(job)
    assert listed_of(pick(desk, rated.floor, "?rating=rated", all="1")).openings == [str(rated.pk)]


def test_nothing_picked_is_said_and_goes_back(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    answer = desk.post(f"/s/{job.code}/floors/{opening.floor_id}/pick?as=list", {}, follow=True)
    assert "Pick at least one opening first." in words(answer)
    assert not OpeningList.objects.exists()


def test_a_list_is_its_sites(job: Site, desk: Client) -> None:
    opening, elsewhere = make.opening(job), make.opening(make.site("depot"))
    listed = listed_of(pick(desk, opening.floor, o=[opening.number, elsewhere.number]))
    assert listed.openings == [str(opening.pk)]
    stranger = signed_in(make.supervisor(elsewhere.site))
    for path in (f"lists/{listed.pk}", f"lists/{listed.pk}/order"):
        assert stranger.get(f"/s/{job.code}/{path}").status_code == 404
        assert stranger.get(f"/s/depot/{path}").status_code == 404
    assert pick(stranger, opening.floor, o=[opening.number]).status_code == 404
    assert signed_in(make.viewer(job)).get(f"/s/{job.code}/lists/{listed.pk}").status_code == 200


def test_kit_and_labels_are_of_the_list(job: Site, desk: Client) -> None:
    one, other = make.opening(job, "one"), make.opening(job, "other")
    listed = listed_of(pick(desk, one.floor, o=["one"]))
    kit = desk.get(f"/s/{job.code}/kit.csv?list={listed.pk}").content.decode()
    assert "one F1" in kit
    assert other.number not in kit
    assert f'name="list" value="{listed.pk}"' in desk.get(f"/s/{job.code}/labels?list={listed.pk}").content.decode()
    sheet = desk.get(f"/s/{job.code}/labels.pdf?list={listed.pk}&grid={next(iter(GRIDS))}")
    printed = " ".join(page.extract_text() for page in PdfReader(BytesIO(sheet.content)).pages).split()
    assert "one" in printed
    assert "other" not in printed


def test_a_work_order_says_what_where_with_what_and_what_to_look_out_for(job: Site, desk: Client) -> None:
    ready, early, done = (make.opening(job, n, rating_minutes=0) for n in ("A", "B", "C"))
    make.work_up_to(ready, "layout")
    make.work_up_to(done, "set")
    make.work_up_to(early, "receive")
    listed = listed_of(pick(desk, ready.floor, o=["A", "B", "C"]))
    company = make.crew(job).memberships.get().company
    page = words(desk.get(f"/s/{job.code}/lists/{listed.pk}/order?stage=set&company={company.pk}&who=Night+crew"))
    assert "Frame stood, spread and base-anchored" in page
    assert f"Night crew, {company}" in page
    assert "A frame standing unbraced tips over" in page
    assert "keeps its label" not in page, "none of them is rated"
    assert re.search(r"Not to be started yet 1 B waiting", page)
    assert re.search(r"Done or not needed: C", page)
    assert re.search(r"1 frame\b", page), "only what is to be done is loaded"


def test_a_persons_oldest_lists_go(job: Site) -> None:
    opening, who = make.opening(job), make.supervisor(job)
    for n in range(KEPT + 3):
        make_list(site=job, picked=[opening.pk], who=who, now=make.MONDAY + make.MINUTE * n)
    assert OpeningList.objects.count() == KEPT
    assert not OpeningList.objects.filter(made_at=make.MONDAY).exists()


def test_the_sheets_of_a_list_ask_as_many_questions_for_thirty_as_for_three(job: Site, desk: Client) -> None:
    def asked(openings: list[Opening]) -> list[int]:
        listed = listed_of(pick(desk, openings[0].floor, o=[each.number for each in openings]))
        counts = []
        for path in (f"lists/{listed.pk}", f"lists/{listed.pk}/order?stage=receive", f"kit?list={listed.pk}"):
            desk.get(f"/s/{job.code}/{path}")
            with CaptureQueriesContext(connection) as queries:
                assert desk.get(f"/s/{job.code}/{path}").status_code == 200
            counts.append(len(queries))
        return counts

    few = make.openings(job, 3)
    for each in few:
        make.work_up_to(each, "receive")
    assert asked(few + make.openings(job, 27)) == asked(few)


def test_floors_keep_what_was_asked_on_the_way(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    answer = desk.get(f"/s/{job.code}/floors?as=list&rating=rated")
    assert answer["Location"] == f"/s/{job.code}/floors/{opening.floor_id}?as=list&rating=rated"


@pytest.mark.parametrize(("asked", "found"), [("find=hall", {"A"}), ("find=b", {"B"}), ("rule=past-hold-point", {"B"})])
def test_a_floor_is_narrowed_by_words_and_by_alert(job: Site, desk: Client, asked: str, found: set[str]) -> None:
    a, b = make.opening(job, "A", room_from="Hall", mark=""), make.opening(job, "B", mark="")
    make.alert(b, "past-hold-point")
    make.alert(a)
    markup = desk.get(f"/s/{job.code}/floors/{a.floor_id}?as=list&{asked}").content.decode()
    assert set(re.findall(r'name="o" value="(\w+)"', markup)) == found


@pytest.mark.parametrize(
    ("order", "wanted"), [("-number", "BA"), ("room", "BA"), ("trouble", "BA"), ("-rating", "AB"), ("stage", "AB")]
)
def test_a_list_is_sorted_by_its_headings(job: Site, desk: Client, order: str, wanted: str) -> None:
    a = make.opening(job, "A", walk=1, room_from="West", rating_minutes=90)
    b = make.opening(job, "B", walk=2, room_from="East", rating_minutes=None)
    make.alert(b)
    markup = desk.get(f"/s/{job.code}/floors/{a.floor_id}?as=list&order={order}").content.decode()
    assert "".join(re.findall(r'name="o" value="(\w+)"', markup)) == wanted
    assert markup.count("aria-sort") == 1
