"""Kit lists and takeoffs: what the schedule's frames need, and what the schedule does not tell."""

import csv
from io import StringIO
from typing import Any

import pytest
from django.test import Client

from inspections.services.profiles import set_profile
from openings.models import Opening, Site
from sitetrack.kit.lengths import parse_length
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


def rows_of(client: Client, job: Site, **asked: Any) -> list[list[str]]:
    answer = client.get(f"/s/{job.code}/kit.csv", asked)
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.reader(StringIO(answer.content.decode("utf-8-sig"))))


def test_a_floor_is_added_up_by_kind_and_length(job: Site, desk: Client) -> None:
    """Three frames 3'-0" x 7'-0" in steel studs: 4 anchors a jamb by the public-agency project specification 08 11 13,
    one base anchor a jamb, two spreaders a frame cut to the opening, two screws an anchor (common practice)."""
    openings = make.openings(job, 3)
    found = rows_of(desk, job, floor=openings[0].floor_id)
    assert [row[1].split()[0] for row in found if row[0] == "frame"] == [opening.number for opening in openings]
    assert ["jamb anchor", "steel stud and board", '5 3/4"', "24"] in found
    assert ["base anchor", "steel stud and board", "", "6"] in found
    assert ["spreader", "", '36"', "6"] in found
    assert ["screws, at least", "", "", "48"] in found


def test_numbers_are_picked_in_whatever_case_and_unknown_ones_named(job: Site, desk: Client) -> None:
    make.opening(job, "101a")
    make.opening(job, "102")
    page = words(desk.get(f"/s/{job.code}/kit", {"numbers": "101A, nope"}))
    assert "No opening of this site is called: nope" in page
    frames = [row for row in rows_of(desk, job, numbers="101A\nnope") if row[0] == "frame"]
    assert [row[1] for row in frames] == ["101a F1"]


def test_what_the_schedule_does_not_tell_is_left_out_aloud(job: Site, desk: Client) -> None:
    make.opening(job, "1", width=None)
    make.opening(job, "2", wall=make.wall(job, "W9", kind=""))
    leaf = make.opening(job, "3", size_is=Opening.SizeIs.LEAF)
    found = rows_of(desk, job, floor=leaf.floor_id)
    assert [row for row in found if row[0] == "not counted"] == [
        ["not counted", "1", "its size is not told", ""],
        ["not counted", "2", "its wall is not told", ""],
        ["not counted", "3", "its size is not told", ""],
    ]
    assert "3 openings could not be counted" in words(desk.get(f"/s/{job.code}/kit", {"floor": leaf.floor_id}))


def test_the_sites_rule_set_counts_the_anchors(job: Site, desk: Client) -> None:
    """UFGS 08110 asks for 3 a jamb up to 90 in."""
    opening = make.opening(job)
    set_profile(site=job, changes={"anchor_rule_set": "ufgs"}, who=make.supervisor(job), now=make.MONDAY)
    assert ["jamb anchor", "steel stud and board", '5 3/4"', "6"] in rows_of(desk, job, floor=opening.floor_id)


def test_a_cell_that_a_spreadsheet_would_run_is_disarmed(job: Site, desk: Client) -> None:
    opening = make.opening(job, "=1+1", width=None)
    found = rows_of(desk, job, floor=opening.floor_id)
    assert ["not counted", "'=1+1", "its size is not told", ""] in found


def test_another_sites_openings_are_in_no_kit(job: Site) -> None:
    opening = make.opening(job, "101")
    other = make.site("depot")
    client = signed_in(make.supervisor(other))
    assert client.get(f"/s/{job.code}/kit.csv", {"numbers": "101"}).status_code == 404
    assert not [row for row in rows_of(client, other, numbers="101") if row[0] == "frame"]
    assert not [row for row in rows_of(client, other, floor=opening.floor_id) if row[0] == "frame"]


@pytest.mark.parametrize("asked", [{"floor": "x"}, {"numbers": " , "}, {}])
def test_nothing_asked_lists_the_floors_to_choose_from(job: Site, desk: Client, asked: dict[str, str]) -> None:
    make.opening(job)
    assert "Choose a floor" in words(desk.get(f"/s/{job.code}/kit", asked))


def takeoff(client: Client, opening: Opening) -> str:
    return words(client.get(f"/s/{opening.site.code}/openings/{opening.number}/takeoff"))


def test_the_takeoff_of_an_everyday_frame(job: Site, desk: Client) -> None:
    """3'-0" x 7'-0", 3-5/8 in stud with 5/8 in board each side in a 5-3/4 in jamb: the standard example of the trade.

    Wall 4-7/8 in, throat 5-3/4 less two returns of 7/16 = 4-7/8 in; three hinges of 4-1/2 in (NFPA 80 6.4 and the hinge
    guide); clear width 36 - 3-3/16 in; floor clearance 3/4 in on a bare slab.
    """
    page = takeoff(desk, make.opening(job))
    assert "Wall 4 7/8&quot;, throat 4 7/8&quot;" in page
    assert "the wall fits with little room or none" in page
    assert "4 per jamb by project specification 08 11 13" in page
    assert "0 in the head, 2 at the base" in page
    assert "3 a leaf, 4 1/2&quot;" in page
    assert "2, cut square to 36&quot;" in page
    assert "32 13/16&quot;" in page
    assert "Floor clearance 3/4&quot;" in page
    assert "two people" in page
    assert "the studs are brought to a welded frame" in page


def test_a_slip_on_frame_has_its_rough_opening(job: Site, desk: Client) -> None:
    """Nominal plus 2 in wide and 1 in high (contractor's article on framing openings)."""
    assert "3&#x27;-2&quot; × 7&#x27;-1&quot;" in takeoff(desk, make.opening(job, construction="knocked_down"))


def test_a_wide_frame_has_head_anchors(job: Site, desk: Client) -> None:
    """Two over 42 in wide in a metal-stud partition (public-agency project specification 08 11 13)."""
    assert "2 in the head" in takeoff(desk, make.opening(job, width=parse_length("6'-0\""), leaves=2))


def test_what_is_not_told_is_unknown_and_not_guessed(job: Site, desk: Client) -> None:
    bare = make.opening(job, wall=make.wall(job, "W9", kind="", stud=None), jamb_depth=None, construction="")
    page = takeoff(desk, bare)
    assert "wall or jamb depth not told" in page
    assert "wall not told" in page
    assert "the kind of frame is not told" in page
    assert "nothing to take off" in takeoff(desk, make.opening(job, height=None))


def test_a_takeoff_of_another_site_is_not_found(job: Site) -> None:
    opening = make.opening(job)
    stranger = signed_in(make.supervisor(make.site("depot")))
    assert stranger.get(f"/s/{job.code}/openings/{opening.number}/takeoff").status_code == 404
