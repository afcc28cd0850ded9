"""The drift sheet: what closing the wall did to frames, told with its interval and silent where chance could do it."""

from datetime import timedelta
from random import Random

import pytest
from django.test import Client

from inspections.models import CheckIn
from inspections.selectors.drifts import closed_frames, closing_stages
from openings.models import Opening, SequencePlan, Site
from openings.selectors.plans import prepared_plan
from sitetrack.access.models import Person
from sitetrack.access.roles import Trade
from sitetrack.demo.load import load
from sitetrack.desk.templatetags.trueness import mean_shift
from sitetrack.kit.lengths import INCH
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def leaning(thirty_seconds: int) -> dict[str, str]:
    """A frame whose strike jamb leans so many 32nds toward the pull side, and is twisted as much."""
    lean = f"{thirty_seconds / 32:.5f}"
    return make.TRUE_READINGS | {"strike_plumb_face": lean, "twist": lean}


def board(job: Site, gang: Person, before: int, after: int) -> Opening:
    """A frame read, boarded by that gang, and read again."""
    opening = make.opening(job)
    chief = make.supervisor(job)
    make.frame_check(chief, opening, readings=leaning(before), at=make.MONDAY)
    make.check_in(gang, opening, "board", "finish", at=make.MONDAY + HOUR)
    make.frame_check(chief, opening, "recheck", readings=leaning(after), answers={}, at=make.MONDAY + HOUR * 2)
    return opening


@pytest.fixture
def gang(job: Site) -> Person:
    return make.crew(job, Trade.DRYWALL)


@pytest.mark.parametrize(
    ("plan", "before", "after"),
    [("steel_stud", "trueness", "recheck"), ("masonry", "trueness", "midcheck"), ("existing_wall", None, None)],
)
def test_the_readings_on_both_sides_of_the_wall_are_found_in_every_plan(
    job: Site, plan: str, before: str | None, after: str | None
) -> None:
    found = closing_stages(prepared_plan(SequencePlan.objects.get(site=job, code=plan).pk))
    assert (found and found.before, found and found.after) == (before, after)


def test_a_gang_that_pushes_frames_out_is_told_and_a_careful_one_is_not(job: Site, desk: Client, gang: Person) -> None:
    rng, careful = Random(4), make.crew(job, Trade.DRYWALL)
    for _ in range(12):
        board(job, gang, 0, 3 + rng.choice((-1, 0, 1)))
        board(job, careful, 0, rng.choice((-1, 0, 1)))
    page = words(desk.get(f"/s/{job.code}/drift"))
    rough, gentle = (
        page[page.index(name) :]
        for name in (gang.name.upper() if gang.name.upper() in page else gang.name, careful.name)
    )
    assert "Shifted: strike jamb plumb across the wall" in rough[: rough.index("Every measure")]
    assert "No shift is told apart from chance." in gentle[: gentle.index("Every measure")]


def test_few_frames_are_said_to_be_few(job: Site, desk: Client, gang: Person) -> None:
    board(job, gang, 0, 4)
    assert "One frame only" in words(desk.get(f"/s/{job.code}/drift"))
    board(job, gang, 0, 4)
    assert "2 frames only" in words(desk.get(f"/s/{job.code}/drift"))


def test_the_last_reading_before_and_the_first_after_are_paired(job: Site, gang: Person) -> None:
    opening = board(job, gang, 1, 2)
    chief = make.supervisor(job)
    make.frame_check(chief, opening, readings=leaning(0), at=make.MONDAY + HOUR / 2)
    make.frame_check(chief, opening, "recheck", readings=leaning(0), answers={}, at=make.MONDAY + HOUR * 3)
    (found,) = closed_frames(job, chief).frames
    assert found.pair.before.lengths["twist"].nm == 0
    assert found.pair.after.lengths["twist"].inches * 16 == 1
    assert found.pair.crew == gang.name


def test_a_reading_taken_back_is_no_part_of_a_pair(job: Site, gang: Person) -> None:
    opening = board(job, gang, 1, 2)
    chief = make.supervisor(job)
    after = CheckIn.objects.get(opening=opening, stage="recheck")
    make.check_in(chief, opening, "recheck", "void", about=after.pk, note="wrong door", at=make.MONDAY + HOUR * 3)
    assert closed_frames(job, chief).frames == []


def test_a_crew_sees_no_pair_of_another_crews_readings(job: Site, gang: Person) -> None:
    board(job, gang, 0, 4)
    assert len(closed_frames(job, make.viewer(job)).frames) == 1
    assert closed_frames(job, gang).frames == []
    assert "No frame here has been read" in words(signed_in(gang).get(f"/s/{job.code}/drift"))


def test_another_sites_frames_are_no_part_of_it(job: Site, gang: Person) -> None:
    board(job, gang, 0, 4)
    other = make.site("depot")
    assert closed_frames(other, make.supervisor(other)).frames == []


@pytest.mark.parametrize(("by", "said"), [("company", "Company"), ("wall", "steel stud and board"), ("odd", "Person")])
def test_it_groups_by_company_and_by_wall_too(job: Site, desk: Client, gang: Person, by: str, said: str) -> None:
    board(job, gang, 0, 4)
    assert said in words(desk.get(f"/s/{job.code}/drift?by={by}"))


def test_the_demo_has_one_gang_that_knocks_frames_out() -> None:
    site = load(now=make.MONDAY, seed=3, openings=80)
    page = words(signed_in(make.supervisor(site)).get(f"/s/{site.code}/drift"))
    hard, careful = (page[page.index(name) :].partition("Every measure")[0] for name in ("Temo", "Efra"))
    assert "Shifted" in hard
    assert "strike jamb plumb across the wall" in hard
    assert "strike jamb plumb across the wall" not in careful


def test_only_the_latest_frames_are_counted_and_that_is_said(
    job: Site, gang: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("inspections.selectors.drifts.MOST_PAIRS", 2)
    for _ in range(2):
        board(job, gang, 0, 4)
    assert not closed_frames(job, make.supervisor(job)).cut_off
    board(job, gang, 0, 4)
    found = closed_frames(job, make.supervisor(job))
    assert (len(found.frames), found.cut_off) == (2, True)


def test_a_mean_next_to_nothing_has_no_sign_of_its_own() -> None:
    assert mean_shift(-INCH // 10_000, "imperial") == "+0.000 in"
    assert mean_shift(-INCH // 8, "imperial") == "-0.125 in"
