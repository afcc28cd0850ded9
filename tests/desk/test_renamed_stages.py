"""A site may call its stages what it likes: drawings, the opening's sheet and cautions go by what stages mean."""

import pytest
from django.test import Client

from inspections.selectors.floors import floor_openings, floor_rows, openings_of_floor
from inspections.selectors.opening_record import find_opening, opening_sheet
from openings.models import Opening, Site
from sitetrack.desk.frame_mark import FrameLook, Proof, look_of
from sitetrack.desk.opening_drawing import opening_drawing
from tests import builders as make
from tests.desk.looking import words

pytestmark = pytest.mark.django_db
ANCHORED_AND_TRUE = FrameLook(standing=True, anchored=True, proof=Proof.TRUE)


@pytest.fixture
def renamed(job: Site) -> Site:
    make.rename_stages(job)
    return job


def look_on_floor(opening: Opening) -> FrameLook:
    (row,) = floor_openings(floor_rows(openings_of_floor(opening.floor, make.supervisor(opening.site))))
    return look_of(row.marked)


def look_on_sheet(opening: Opening) -> FrameLook:
    who = make.supervisor(opening.site)
    found = find_opening(opening.site, who, opening.number)
    assert found is not None
    return look_of(opening_sheet(found, who).marked)


def test_a_frame_is_drawn_the_same_by_either_names(renamed: Site) -> None:
    opening = make.opening(renamed)
    assert {stage["code"] for stage in opening.plan.stages} >= {"our_set", "our_trueness"}
    make.work_up_to(opening, "our_trueness")
    assert look_on_floor(opening) == look_on_sheet(opening) == ANCHORED_AND_TRUE


def test_openings_of_one_floor_may_follow_plans_with_different_names(job: Site) -> None:
    before = make.opening(job, "A")
    make.rename_stages(job)
    after = make.opening(job, "B", on=before.floor)
    make.work_up_to(before, "trueness")
    make.work_up_to(after, "our_trueness")
    rows = floor_openings(floor_rows(openings_of_floor(before.floor, make.supervisor(job))))
    assert [look_of(row.marked) for row in rows] == [ANCHORED_AND_TRUE, ANCHORED_AND_TRUE]


def test_a_masonry_wall_is_hatched_once_its_last_courses_are_grouted(job: Site) -> None:
    opening = make.opening(job, plan="masonry")
    make.work_up_to(opening, "wall")
    assert not look_on_floor(opening).closed_in
    make.check_in(make.supervisor(job), opening, "grout", at=make.MONDAY + make.DAY)
    assert look_on_floor(opening).closed_in


@pytest.mark.parametrize(("last", "drawn"), [("our_board", True), ("our_recheck", False)])
def test_spreaders_are_drawn_until_the_closed_wall_is_proved(renamed: Site, last: str, drawn: bool) -> None:
    opening, who = make.opening(renamed), make.supervisor(renamed)
    make.work_up_to(opening, last)
    found = find_opening(renamed, who, opening.number)
    assert found is not None
    drawing = opening_drawing(opening_sheet(found, who))
    assert drawing is not None
    assert ("SPREADER" in drawing.svg.upper()) is drawn


def test_a_work_order_warns_of_a_renamed_stage_as_before(renamed: Site, desk: Client) -> None:
    opening = make.opening(renamed, rating_minutes=0)
    make.work_up_to(opening, "our_layout")
    made = desk.post(f"/s/{renamed.code}/floors/{opening.floor_id}/pick", {"o": [opening.number]})
    page = words(desk.get(f"{made['Location']}/order?stage=our_set"))
    assert "A frame standing unbraced tips over" in page
