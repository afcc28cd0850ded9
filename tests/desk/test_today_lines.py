"""Today's lines in the order a supervisor reads them: the heaviest alert, the oldest hold, the floor that is late."""

import re
from datetime import timedelta

import pytest
from django.test import Client

from openings.models import Site
from sitetrack.access.roles import Trade
from sitetrack.kit.clock import now
from tests import builders as make
from tests.desk.looking import words

pytestmark = pytest.mark.django_db


def test_holds_are_told_by_age_with_who_must_act(job: Site, desk: Client) -> None:
    hand = make.crew(job, Trade.FRAME_CREW, company_=make.company("Larch Frames"))
    for number, days in (("YOUNG", 1), ("OLD", job.hold_limit_days + 2), ("TODAY", 0)):
        make.check_in(hand, make.opening(job, number), "set", "hold", note="slab not level", at=now() - days * make.DAY)
    page = desk.get(f"/s/{job.code}/today")
    assert [hold.number for hold in page.context["holds"]] == ["OLD", "YOUNG", "TODAY"]
    told = words(page)
    old = rf"OLD {job.hold_limit_days + 2} days, over the limit slab not level"
    assert re.search(rf"{old}.*YOUNG 1 day slab not level.*TODAY today slab not level", told)
    assert told.count(f"held by {hand.name}, Larch Frames: theirs or yours to release") == 3


def test_a_hold_that_a_failed_reading_opened_is_its_readers_to_put_right(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    make.work_up_to(opening, "anchor")
    hand = make.crew(job, Trade.FRAME_CREW, company_=make.company("Larch Frames"))
    make.frame_check(hand, opening, readings=make.TWISTED_READINGS, at=now())
    assert "failed when Larch Frames read it: theirs to put right and read again" in words(
        desk.get(f"/s/{job.code}/today")
    )


def test_alerts_are_told_by_weight_whenever_they_came(job: Site, desk: Client) -> None:
    opening = make.opening(job)
    for severity, days in (("notice", 1), ("warning", 2), ("critical", 3)):
        make.alert(opening, severity=severity, happened_at=now() - days * make.DAY)
    lines = [line.severity for line, _title, _advice in desk.get(f"/s/{job.code}/today").context["alerts"]]
    assert lines == ["critical", "warning", "notice"]


@pytest.mark.parametrize(("days", "said"), [(-5, "5 days over"), (-1, "1 day over"), (0, "today"), (3, "3 days left")])
def test_a_floor_says_how_it_is_against_its_date(job: Site, desk: Client, days: int, said: str) -> None:
    page = desk.get(f"/s/{job.code}/today")
    today = page.context["desk"].today
    make.opening(job, on=make.floor(job, "L2", level=2, name="Second floor", due_on=today + timedelta(days=days)))
    line = words(desk.get(f"/s/{job.code}/today")).partition("Progress against the date")[2]
    assert re.search(rf"Second floor.*\b{said}\b", line)


def test_a_floor_without_a_date_says_so(job: Site, desk: Client) -> None:
    make.opening(job)
    assert "no date" in words(desk.get(f"/s/{job.code}/today"))
