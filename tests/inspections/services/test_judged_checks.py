"""What the server says of a reading besides its verdict: whether a door would fit, and which way to move the frame."""

from typing import Any

import pytest

from inspections.models import FrameCheck, Hold
from openings.models import Opening, Site
from tests import builders as make

pytestmark = pytest.mark.django_db

CALCULATIONS = "/api/v1/calculations"
# The strike jamb's top leans 3/16 in toward the pull side, and the frame is twisted by as much.
OUT = make.TWISTED_READINGS | {"strike_plumb_face": "3/16"}


@pytest.fixture
def job() -> Site:
    return make.site()


def judged(of: Opening, **more: Any) -> dict[str, Any]:
    """What is stored of a reading."""
    check_in = make.frame_check(make.supervisor(of.site), of, **more)
    stored: dict[str, Any] = FrameCheck.objects.get(pk=check_in.pk).judged
    return stored


def test_frame_that_is_out_is_told_which_way_to_go_in_both_languages(job: Site) -> None:
    found = judged(make.opening(job), readings=OUT)
    moves = found["advice"]["moves"]
    assert [move["part"] for move in moves] == ["strike_top"]
    assert moves[0]["direction"] == "toward_push"
    # 3/16 in out of twist against the 1/16 in of public-agency project specification 08 11 13: 1/8 in too much.
    assert moves[0]["amount"]["in"] == pytest.approx(1 / 8, abs=1e-6)
    assert moves[0]["words"]["en"] != moves[0]["words"]["es"]


@pytest.mark.parametrize("language", ["en", "es"])
def test_hold_of_a_failed_check_carries_the_moves_in_the_language_of_the_site(language: str) -> None:
    opening = make.opening(make.site(language=language))
    found = judged(opening, readings=OUT)
    hold = Hold.objects.get(opening=opening, from_check=True)
    assert found["advice"]["moves"][0]["words"][language] in hold.reason.splitlines()
    for other in ("en", "es"):  # and, for whoever reads the other, in that
        assert found["advice"]["moves"][0]["words"][other] in hold.reason_in(other).splitlines()


def test_readings_foretold_after_the_moves_pass_when_they_are_read(job: Site) -> None:
    opening = make.opening(job)
    out = make.TRUE_READINGS | {
        "twist": "-1/8", "hinge_plumb_face": "1/8", "width_head": "36 5/32", "strike_plumb_side": "5/32",
    }  # fmt: skip
    found = judged(opening, readings=out)
    assert found["verdict"] == "fail"
    again = {name: f"{length['mm']} mm" for name, length in found["advice"]["predicted"].items()}
    assert judged(opening, readings=again, at=make.MONDAY + make.MINUTE * 30)["verdict"] == "pass"


def test_nobody_is_sent_to_move_a_frame_on_readings_that_disagree(job: Site) -> None:
    found = judged(make.opening(job), readings=make.TRUE_READINGS | {"width_floor": "35"})
    assert found["advice"]["moves"] == []
    assert "width_floor" in found["advice"]["measure_again"]


def test_true_frame_is_told_that_the_door_swings_free_and_nothing_to_move(job: Site) -> None:
    found = judged(make.opening(job))
    assert found["fit"]["verdict"] == "free"
    assert "advice" not in found


def test_opening_of_unknown_size_is_told_of_no_door(job: Site) -> None:
    found = judged(make.opening(job, width=None), readings=OUT)
    assert found["verdict"] == "fail"
    assert not {"fit", "advice"} & set(found)


def test_gaps_read_at_a_hung_door_foretell_no_door(job: Site) -> None:
    readings = {"gap_hinge": "1/8", "gap_strike_mid": "1/4"}
    found = judged(make.opening(job), stage="final", readings=readings, answers={})
    assert "fit" not in found
    assert found["advice"]["out_of_reach"] == ["gap_strike_mid"]


def test_what_is_stored_is_what_the_calculations_answer(job: Site) -> None:
    """The stored answer and the stateless one come of the same readings, so they must say the same."""
    opening = make.opening(job)
    stored = judged(opening, readings=OUT)
    asked = {
        "opening": {"width": "3'-0\"", "height": "7'-0\"", "hand": "RH", "rating_minutes": 0},
        "readings": OUT,
    }
    api = make.client(make.supervisor(job))
    for name, member in (("advice", "advice"), ("door-fit", "fit")):
        assert api.post(f"{CALCULATIONS}/{name}", asked).json() == stored[member]


def test_the_push_answers_what_is_stored(job: Site) -> None:
    opening, hand = make.opening(job), make.crew(job)
    item = make.push_item(opening, "trueness", readings=OUT, answers=make.TRUENESS_ANSWERS)
    (result,) = make.client(hand).post("/api/v1/sync/push", make.batch(item)).json()["results"]
    assert result["verdict"] == FrameCheck.objects.get(pk=item["id"]).judged
    assert result["verdict"]["advice"]["moves"]
