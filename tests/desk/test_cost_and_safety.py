"""What a sheet costs, and that nothing typed on site is more than text on it."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from openings.models import Opening, Site
from tests import builders as make
from tests.desk.looking import pages_of, words

HOSTILE = '<script>alert("1")</script>'

pytestmark = pytest.mark.django_db


def a_day_of_work(job: Site, count: int) -> list[Opening]:
    """Openings in every state a page shows, with alerts, holds and readings."""
    hand = make.crew(job)
    found = []
    for n in range(count):
        opening = make.opening(job, walk=n, room_from="Corridor", x=float(n), y=0.0)
        make.work_up_to(opening, ("receive", "set", "anchor", "board")[n % 4])
        make.alert(opening, evidence={"stage": "board", "company": str(hand.memberships.get().company_id)})
        make.check_in(hand, opening, "set", "hold", note="wrong hand", at=make.MONDAY + make.DAY)
        found.append(opening)
    return found


def test_a_page_asks_as_many_questions_for_thirty_openings_as_for_three(job: Site, desk: Client) -> None:
    opening = a_day_of_work(job, 3)[0]
    few = {page: queries_of(desk, page) for page in pages_of(job, opening)}
    a_day_of_work(job, 27)
    many = {page: queries_of(desk, page) for page in pages_of(job, opening)}
    assert many == few
    assert max(many.values()) <= 28


def queries_of(client: Client, page: str) -> int:
    client.get(page)  # what is worked out once in a process is not the page's cost
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert client.get(page).status_code == 200
    return len(asked)


def test_nothing_typed_on_site_is_markup(job: Site, desk: Client) -> None:
    hand = make.crew(job)
    opening = make.opening(
        job, HOSTILE[:40], room_from=HOSTILE, room_to=HOSTILE, mark=HOSTILE, remarks=HOSTILE, hardware_set=HOSTILE
    )
    make.check_in(hand, opening, "receive", "finish", note=HOSTILE)
    make.check_in(hand, opening, "receive", "hold", note=HOSTILE)
    make.alert(opening, evidence={"reason": HOSTILE, "company": HOSTILE})
    for page in [*pages_of(job, opening)[:3], *pages_of(job, opening)[4:6], f"/s/{job.code}/find?number={HOSTILE}"]:
        assert "<script>" not in desk.get(page).content.decode(), page


def test_an_opening_number_with_strokes_and_percents_is_reached(job: Site, desk: Client) -> None:
    opening = make.opening(job, "101A/B #2 50%")
    floor = desk.get(f"/s/{job.code}/floors/{opening.floor_id}").content.decode()
    (address,) = re.findall(rf'href="(/s/{job.code}/openings/[^"]+)"', floor)
    assert "101A/B #2 50%" in words(desk.get(address))


def test_no_page_carries_inline_script_or_style(job: Site, desk: Client) -> None:
    """So that a content security policy of 'self' holds (W3C Content Security Policy Level 3)."""
    opening = a_day_of_work(job, 4)[2]
    for page in [*pages_of(job, opening), f"/s/{job.code}/openings/{opening.number}?do=finish&stage=trueness"]:
        markup = desk.get(page).content.decode()
        assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=", markup), page
