"""Stages put in and taken out of a plan as it is drawn; marks that fit a stage; what a plan leaves unwatched."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from openings.sequence.checking import problems_of
from openings.sequence.fault_words import FAULTS, REMARKS
from openings.sequence.plan import Plan
from openings.sequence.plan_document import PlanSheet, read_sheet, write_plan
from openings.sequence.plan_editing import put_stage, take_out, waiting_for
from openings.sequence.remarks import remarks_on
from openings.sequence.stage import MARKS_OF_CHECKS, Kind, Mark, Role, Stage, Trade, Words

NAMES = ["steel_stud", "masonry", "existing_wall"]


def stage(code: str, **given_: Any) -> Stage:
    return Stage(code, Words(code, code), Trade.FRAMING, **given_)


def sheet(*stages: Stage) -> PlanSheet:
    return PlanSheet("trial", Words("Trial", "Prueba"), "steel_stud", stages)


def codes(of: PlanSheet) -> list[str]:
    return [each.code for each in of.stages]


def test_a_stage_goes_in_where_it_is_put_and_takes_the_place_of_its_namesake() -> None:
    drawn = sheet(stage("a"), stage("b"), stage("c"))
    assert codes(put_stage(drawn, stage("d"), following="a")) == ["a", "d", "b", "c"]
    assert codes(put_stage(drawn, stage("d"), following=None)) == ["d", "a", "b", "c"]
    moved = put_stage(drawn, replace(drawn.stages[0], weight=7), following="c")
    assert codes(moved) == ["b", "c", "a"]
    assert moved.stages[2].weight == 7


def test_who_waited_for_a_stage_taken_out_waits_for_what_it_waited_for() -> None:
    drawn = sheet(
        stage("set"),
        stage("stud", after=("set",)),
        stage("anchor", after=("stud", "set")),
        stage("read", kind=Kind.CHECK, after=("anchor", "stud"), covers=("stud", "anchor")),
    )
    assert waiting_for(drawn, "stud") == ["anchor", "read"]
    left = {each.code: each for each in take_out(drawn, "stud").stages}
    assert left["anchor"].after == ("set",)
    assert left["read"].after == ("anchor", "set")
    assert left["read"].covers == ("anchor",)


@st.composite
def orders(draw: st.DrawFn) -> PlanSheet:
    """Stages that wait for earlier ones only."""
    count = draw(st.integers(2, 8))
    befores = [draw(st.lists(st.integers(0, n - 1), max_size=3, unique=True)) if n else [] for n in range(count)]
    return sheet(*(stage(f"s{n}", after=tuple(f"s{b}" for b in befores[n])) for n in range(count)))


@given(orders(), st.integers(0, 7))
def test_what_comes_before_what_stays_so_when_a_stage_is_taken_out(drawn: PlanSheet, pick: int) -> None:
    """Told by networkx: reachability among the stages left is what it was with the stage in."""
    gone = drawn.stages[pick % len(drawn.stages)].code

    def reach(of: PlanSheet) -> set[tuple[str, str]]:
        graph = nx.DiGraph([(b, each.code) for each in of.stages for b in each.after])
        graph.add_nodes_from(codes(of))
        return {(a, b) for a in graph for b in nx.descendants(graph, a) if gone not in (a, b)}

    assert reach(take_out(drawn, gone)) == reach(drawn)
    assert problems_of(take_out(drawn, gone).stages) == []


def test_a_mark_sits_on_what_can_do_what_it_says() -> None:
    for mark in Mark:
        right, wrong = (Kind.CHECK, Kind.WORK) if mark in MARKS_OF_CHECKS else (Kind.WORK, Kind.CHECK)
        assert problems_of([stage("a", kind=right, marks=(mark,))]) == []
        (fault,) = problems_of([stage("a", kind=wrong, marks=(mark,))])
        assert (fault.code, fault.stage) == ("wrong mark", "a")
        assert mark.value in fault.said.es


def test_required_readings_are_readings_there_are_and_only_of_checks() -> None:
    read = stage("read", kind=Kind.CHECK, required_readings=("twist", "wobble"))
    assert problems_of([read]) == []  # nobody said which readings there are
    assert [p.code for p in problems_of([read], {"twist"})] == ["unknown reading"]
    assert "'wobble'" in problems_of([read], {"twist"})[0].said.es
    assert [p.code for p in problems_of([replace(read, kind=Kind.WORK)], {"twist", "wobble"})] == [
        "readings of work"
    ] * 1


@pytest.mark.parametrize("name", NAMES)
def test_the_shipped_plans_leave_nothing_unwatched(plan_named: Callable[[str], Plan], name: str) -> None:
    assert remarks_on(plan_named(name).stages) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_without_marks_is_told_what_nobody_will_be_warned_of(
    plan_named: Callable[[str], Plan], name: str
) -> None:
    bare = [replace(each, marks=()) for each in plan_named(name).stages]
    assert [remark.code for remark in remarks_on(bare)] == [
        "nothing stands the frame", "nothing confirms the floor", "nothing closes the wall",
    ]  # fmt: skip


def test_a_wall_closed_without_a_hold_point_before_it_is_told(steel: Plan) -> None:
    loose = [replace(each, hold_point=False) for each in steel.stages]
    assert ("wall closed unchecked", "board") in [(r.code, r.stage) for r in remarks_on(loose)]


def test_spreaders_nobody_asks_about_are_told(steel: Plan) -> None:
    bare = [replace(each, checklist=()) for each in steel.stages]
    assert [r.code for r in remarks_on(bare)] == ["spreaders unwatched"]


def test_a_check_that_covers_nothing_is_told(steel: Plan) -> None:
    bare = [replace(each, covers=()) for each in steel.stages]
    assert {(r.code, r.stage) for r in remarks_on(bare)} == {
        ("check covers nothing", "trueness"), ("check covers nothing", "recheck"),
    }  # fmt: skip


def test_every_fault_and_remark_is_said_in_both_languages() -> None:
    for table in (FAULTS, REMARKS):
        for kind, words in table.items():
            assert words.en, kind
            assert words.es, kind
            assert words.en != words.es or kind == "cycle", kind


def test_a_sheet_with_faults_is_read_and_written_all_the_same(steel: Plan) -> None:
    ring = replace(steel.stages[0], after=("final",), sign_roles=(Role.CREW,))
    drawn = PlanSheet("trial", steel.name, "steel_stud", (ring, *steel.stages[1:]))
    assert read_sheet(write_plan(drawn)) == drawn
    assert {p.code for p in problems_of(drawn.stages)} >= {"cycle", "work as check"}
