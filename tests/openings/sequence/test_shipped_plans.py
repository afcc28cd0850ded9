"""The three plans that come with the tracker."""

from collections.abc import Callable

import pytest

from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan, write_plan
from openings.sequence.stage import Kind
from openings.sequence.state import State

NAMES = ["steel_stud", "masonry", "existing_wall"]

# The order of the trade for a frame wrapped in board, written out stage by stage: trade, kind, what it waits for.
STEEL_STUD = {
    "receive": ("frame_crew", "work", ""),
    "match": ("frame_crew", "check", "receive"),
    "ffl": ("supervisor", "check", ""),
    "layout": ("framing", "work", ""),
    "assemble": ("frame_crew", "work", "match"),
    "set": ("frame_crew", "work", "match ffl layout assemble"),
    "roughin": ("electrician", "work", "set"),
    "stud": ("framing", "work", "set roughin"),
    "anchor": ("frame_crew", "work", "stud"),
    "trueness": ("frame_crew", "check", "anchor roughin"),
    "board": ("drywall", "work", "trueness"),
    "recheck": ("drywall", "check", "board"),
    "fix": ("drywall", "work", "recheck"),
    "finish": ("painter", "work", "fix"),
    "flooring": ("flooring", "work", "finish"),
    "hang": ("door_hanger", "work", "finish flooring"),
    "final": ("supervisor", "check", "hang"),
}


def test_the_steel_stud_plan_waits_for_what_the_trade_waits_for(steel: Plan) -> None:
    shipped = {s.code: (s.trade.value, s.kind.value, " ".join(s.after)) for s in steel.stages}
    assert shipped == STEEL_STUD


def test_the_hold_points_of_the_steel_stud_plan_and_who_signs_them(steel: Plan) -> None:
    signed = {s.code: (s.hold_point, set(s.sign_roles)) for s in steel.stages if s.hold_point or s.sign_roles}
    assert signed == {
        "trueness": (True, {"inspector", "supervisor"}),
        "recheck": (True, {"supervisor"}),
        "final": (True, {"supervisor", "inspector"}),
    }


def test_the_check_before_board_covers_all_that_board_hides(steel: Plan) -> None:
    covers = {s.code: set(s.covers) for s in steel.stages if s.covers}
    assert covers == {"trueness": {"set", "stud", "anchor", "roughin"}, "recheck": {"board"}}


def test_both_frame_checks_ask_for_the_four_published_tolerances_and_the_width(steel: Plan) -> None:
    # Squareness, alignment, twist and plumb: the four of the public-agency project specification 08 11 13.
    published = {"squareness", "alignment", "twist", "hinge_plumb_side", "strike_plumb_side"}
    widths = {"width_head", "width_mid", "width_floor"}
    asked = {s.code: set(s.required_readings) for s in steel.stages if s.required_readings}
    assert asked.keys() == {"trueness", "recheck"}
    assert all(names >= published | widths for names in asked.values())


@pytest.mark.parametrize(
    ("name", "closing"),
    [("steel_stud", ["board"]), ("masonry", ["courses", "wall", "grout"]), ("existing_wall", ["close"])],
)
def test_whatever_closes_the_wall_comes_after_the_signed_check(
    plan_named: Callable[[str], Plan], name: str, closing: list[str]
) -> None:
    plan = plan_named(name)
    structure = plan.structure({})
    assert [stage.code for stage in plan.stages if stage.closes_wall] == closing
    assert all("trueness" in structure.ancestors[code] for code in closing)
    assert structure.stages["trueness"].hold_point


@pytest.mark.parametrize("name", NAMES)
def test_every_text_is_there_in_both_languages(plan_named: Callable[[str], Plan], name: str) -> None:
    plan = plan_named(name)
    texts = [
        plan.name,
        plan.basis,
        *(s.title for s in plan.stages),
        *(i.text for s in plan.stages for i in s.checklist),
    ]
    assert all(text.en and text.es and text.en != text.es for text in texts)


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_is_written_as_it_was_read(plan_named: Callable[[str], Plan], name: str) -> None:
    plan = plan_named(name)
    assert read_plan(write_plan(plan)) == plan


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("electrified", [True, False, None])
@pytest.mark.parametrize("construction", ["knocked_down", "welded", None])
@pytest.mark.parametrize("covering", [0.25, 0, None])
def test_a_day_on_which_all_goes_right_ends_with_everything_done(
    plan_named: Callable[[str], Plan], day, name: str, electrified, construction, covering
) -> None:
    plan = plan_named(name)
    attributes = {"electrified": electrified, "construction": construction, "covering_thickness": covering}
    skipped = {
        code
        for code, is_skipped in [
            ("roughin", electrified is False),
            ("assemble", construction != "knocked_down"),
            ("flooring", not covering),
        ]
        if is_skipped
    }
    state = fold(plan, attributes, [])
    while state.next_stage:
        stage = next(s for s in plan.stages if s.code == state.next_stage)
        assert stage.code not in skipped
        if stage.kind is Kind.CHECK:
            day.check(stage.code, signed_by=next((str(role) for role in stage.sign_roles), None))
        else:
            day(stage.code, "start")
            day(stage.code, "finish")
        state = fold(plan, attributes, day.facts)
    states = {code: stage.state for code, stage in state.stages.items()}
    assert states == {s.code: State.NOT_NEEDED if s.code in skipped else State.DONE for s in plan.stages}
    assert (state.breaches, state.conflicts, state.ready, state.remaining_path) == ((), (), (), ())
    assert state.earned == state.total == sum(s.weight for s in plan.stages if s.code not in skipped)


def test_in_masonry_no_block_is_laid_against_an_unchecked_frame(plan_named: Callable[[str], Plan]) -> None:
    structure = plan_named("masonry").structure({})
    assert structure.prerequisites["courses"] == ("trueness",)
    assert "board" not in structure.stages


def test_in_an_existing_wall_the_gap_is_closed_only_over_a_checked_frame(plan_named: Callable[[str], Plan]) -> None:
    structure = plan_named("existing_wall").structure({})
    assert structure.prerequisites["close"] == ("trueness",)
    assert structure.ancestors["trueness"] >= {"prepare", "opening_check", "set", "anchor"}
