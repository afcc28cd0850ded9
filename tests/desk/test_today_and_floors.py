"""The morning's sheet and the floors."""

import re

import pytest
from django.db import transaction
from django.test import Client

from inspections.models import CheckIn, KeptAside
from inspections.selectors.ready import MOST_STOPS
from openings.models import Site
from openings.services.changes import next_numbers
from sitetrack.kit.clock import now
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def test_a_job_without_openings_says_what_to_do(job: Site, desk: Client) -> None:
    today = words(desk.get(f"/s/{job.code}/today"))
    assert "Take a schedule in" in today
    assert "Nothing is on hold." in today
    assert "No open alert." in today
    assert "no floors yet" in words(desk.get(f"/s/{job.code}/floors"))
    assert "No open alert" in words(desk.get(f"/s/{job.code}/alerts"))


def test_today_says_which_trade_can_start_where(job: Site, desk: Client) -> None:
    opening = make.opening(job, on=make.floor(job, "L2", level=2, name="Second floor"))
    make.work_up_to(opening, "receive")
    today = words(desk.get(f"/s/{job.code}/today"))
    assert re.search(r"Frame crew.*Second floor.*1 Frame matched to opening and schedule", today)


def test_today_shows_check_ins_kept_aside(job: Site, desk: Client) -> None:
    hand, opening = make.crew(job), make.opening(job)
    make.check_in(hand, opening)
    like = CheckIn.objects.get()
    KeptAside.objects.create(
        id=make.new_id(), site=job, person=hand, company=like.company, role=like.role, happened_at=make.MONDAY,
        corrected_at=make.MONDAY, received_at=make.MONDAY, uncertainty_ms=0, content_digest="x",
        seq=next_number(job), payload={"opening": "9999", "stage": "set", "action": "finish"}, reason="unknown opening",
    )  # fmt: skip
    told = "9999 Frame stood, spread and base-anchored finished: no opening of that number"
    assert told in words(desk.get(f"/s/{job.code}/today"))


def test_today_tells_a_stage_of_a_company_in_one_line(job: Site, desk: Client) -> None:
    hand = make.crew(job)
    for name in ("A", "B"):
        make.check_in(hand, make.opening(job, name), "set", action="start", now=now())
    make.check_in(hand, make.opening(job, "C"), "set", action="finish", now=now())
    told = words(desk.get(f"/s/{job.code}/today"))
    assert re.search(r"Frame stood, spread and base-anchored [^;]*2 started; 1 finished", told)


def test_what_was_reported_agrees_with_its_number_in_spanish(job: Site, desk: Client) -> None:
    hand = make.crew(job)
    for name in ("A", "B"):
        make.check_in(hand, make.opening(job, name), "set", action="start", now=now())
    make.check_in(hand, make.opening(job, "C"), "set", action="finish", now=now())
    told = words(desk.get(f"/s/{job.code}/today?lang=es", follow=True))
    assert re.search(r"2 empezados; 1 terminado\b", told)


def test_a_walk_cut_short_says_so(job: Site, desk: Client) -> None:
    for walk in range(MOST_STOPS):
        make.work_up_to(make.opening(job, f"W-{walk}", walk=walk), "receive")
    cut = f"The first {MOST_STOPS} are shown"
    assert cut not in words(desk.get(f"/s/{job.code}/today"))
    make.work_up_to(make.opening(job, "W-LAST", walk=MOST_STOPS), "receive")
    page = desk.get(f"/s/{job.code}/today")
    assert cut in words(page)
    assert len(page.context["walk"]) == MOST_STOPS


def test_today_leads_to_the_forecast_whoever_may_read_it(job: Site, desk: Client) -> None:
    make.opening(job, "A")
    leads = "Will they make it?"
    assert leads in words(desk.get(f"/s/{job.code}/today"))
    assert leads not in words(signed_in(make.crew(job)).get(f"/s/{job.code}/today"))


def test_a_drawing_to_scale_is_not_on_a_sheet_without_scale(job: Site, desk: Client) -> None:
    make.opening(job, "A")
    assert "Scale as noted" in words(desk.get(f"/s/{job.code}/openings/A"))
    assert "Scale none" in words(desk.get(f"/s/{job.code}/today"))


def next_number(job: Site) -> int:
    with transaction.atomic():
        return next_numbers(job.pk, 1)[0]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("trade=frame_crew", {"A"}),
        ("stage=board&state=done", {"B", "C"}),
        ("stage=match", {"A"}),
        ("rating=unknown", {"B"}),
        ("rating=rated", {"A"}),
        ("rating=45", {"A"}),
        ("rating=unrated", {"C"}),
        ("trouble=alert", {"C"}),
        ("trouble=hold", {"C"}),
        ("trouble=none", {"A", "B"}),
        ("trouble=rubbish", {"A", "B", "C"}),
    ],
)
def test_a_floor_is_narrowed(job: Site, desk: Client, asked: str, found: set[str]) -> None:
    a = make.opening(job, "A", rating_minutes=45)
    b = make.opening(job, "B", rating_minutes=None)
    c = make.opening(job, "C", rating_minutes=0)
    make.work_up_to(a, "receive")
    make.work_up_to(b, "board")
    make.work_up_to(c, "board")
    make.check_in(make.crew(job), c, "set", "hold", note="no")
    make.alert(c)
    answer = desk.get(f"/s/{job.code}/floors/{a.floor_id}?as=list&{asked}")
    assert set(re.findall(r"/openings/([ABC])[\"?]", answer.content.decode())) == found


def test_a_floor_is_put_in_order(job: Site, desk: Client) -> None:
    last, first = make.opening(job, "Z9", walk=1), make.opening(job, "A1", walk=2)
    make.work_up_to(first, "set")
    for order, wanted in (("walk", ["Z9", "A1"]), ("number", ["A1", "Z9"]), ("-done", ["A1", "Z9"])):
        markup = desk.get(f"/s/{job.code}/floors/{last.floor_id}?as=list&order={order}").content.decode()
        assert re.findall(r"/openings/(Z9|A1)\"", markup) == wanted, order


def test_find_goes_to_the_opening_whatever_the_case(job: Site, desk: Client) -> None:
    make.opening(job, "B1-20a")
    assert desk.get(f"/s/{job.code}/find?number=b1-20A")["Location"] == f"/s/{job.code}/openings/B1-20a"
    assert "B1-20a" in words(desk.get(f"/s/{job.code}/find?number=20"))


def test_the_walk_goes_from_opening_to_opening(job: Site, desk: Client) -> None:
    make.opening(job, "C", walk=3)
    make.opening(job, "A", walk=1)
    make.opening(job, "B", walk=2)
    markup = desk.get(f"/s/{job.code}/openings/B").content.decode()
    assert re.findall(r'rel="(prev|next)" href="[^"]*/openings/(\w)"', markup) == [("prev", "A"), ("next", "C")]
