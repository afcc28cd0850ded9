"""Plans that cannot work, and what is said of them."""

import re
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from openings.sequence.checking import PlanError, problems_of
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import Stage, Trade, Words


def stage(code: str, **given_: Any) -> dict[str, Any]:
    return {"code": code, "title": {"en": code, "es": code}, "trade": "framing", **given_}


def document(*stages: dict[str, Any]) -> dict[str, Any]:
    return {"code": "trial", "name": {"en": "Trial", "es": "Prueba"}, "wall_kind": "steel_stud", "stages": [*stages]}


def faults(*stages: dict[str, Any]) -> list[tuple[str, str, str]]:
    with pytest.raises(PlanError) as caught:
        read_plan(document(*stages))
    return [(problem.code, problem.stage, problem.words) for problem in caught.value.problems]


def one_fault(*stages: dict[str, Any]) -> tuple[str, str, str]:
    (fault,) = faults(*stages)
    return fault


def test_a_ring_is_named_link_by_link() -> None:
    code, _, words = one_fault(stage("set", after=["stud"]), stage("stud", after=["set"]))
    assert code == "cycle"
    assert words.startswith("set waits for stud waits for set")


def test_a_stage_that_waits_for_itself_is_a_ring() -> None:
    assert one_fault(stage("set", after=["set"]))[2].startswith("set waits for set")


def test_what_waits_for_a_ring_can_never_be_reached() -> None:
    ring = [stage("set", after=["stud"]), stage("stud", after=["set"])]
    (_, _, _), (code, where, words) = faults(*ring, stage("board", after=["anchor"]), stage("anchor", after=["stud"]))[
        :2
    ]
    assert (code, where) == ("unreachable stage", "board")
    assert "board waits for anchor waits for stud" in words


def test_a_prerequisite_the_plan_does_not_have_is_named() -> None:
    code, where, words = one_fault(stage("set", after=["layuot"]))
    assert (code, where) == ("unknown stage", "set")
    assert "waits for 'layuot'" in words


def test_covering_a_stage_the_plan_does_not_have_is_named() -> None:
    code, where, words = one_fault(stage("read", kind="check", covers=["sett"]))
    assert (code, where) == ("unknown stage", "read")
    assert "covers 'sett'" in words


def test_a_code_used_twice_is_named() -> None:
    assert one_fault(stage("set"), stage("set"))[:2] == ("duplicate code", "set")


def test_a_check_covers_only_what_it_waits_for() -> None:
    code, where, words = one_fault(stage("set"), stage("read", kind="check", covers=["set"]))
    assert (code, where) == ("covers what comes later", "read")
    assert "'set'" in words


def test_a_check_covers_work_and_not_another_check() -> None:
    first = stage("first", kind="check")
    assert one_fault(first, stage("second", kind="check", after=["first"], covers=["first"]))[0] == "covers a check"


def test_a_hold_point_nobody_signs_holds_nothing() -> None:
    assert one_fault(stage("read", kind="check", hold_point=True))[:2] == ("unsigned hold point", "read")


def test_work_is_no_hold_point() -> None:
    assert one_fault(stage("set", hold_point=True, sign_roles=["supervisor"]))[0] == "work as check"


def test_a_condition_no_opening_meets_leaves_the_stage_out_of_reach() -> None:
    never = {"all": [{"attr": "leaves", "is": 1}, {"attr": "leaves", "is": 2}]}
    assert one_fault(stage("set", applies_when=never))[:2] == ("unreachable stage", "set")


def test_a_negative_weight_is_refused() -> None:
    assert one_fault(stage("set", weight=-1))[0] == "negative weight"


def test_a_checklist_asks_each_question_once() -> None:
    item = {"code": "plumb", "text": {"en": "Plumb", "es": "A plomo"}}
    assert one_fault(stage("set", checklist=[item, item]))[0] == "duplicate checklist code"


def test_a_plan_needs_a_stage() -> None:
    assert one_fault()[0] == "no stages"


def test_a_plan_has_at_most_a_hundred_stages() -> None:
    words = Words("x", "x")
    stages = tuple(Stage(f"s{number}", words, Trade.FRAMING) for number in range(101))
    assert [problem.code for problem in problems_of(stages)] == ["too many stages"]
    assert problems_of(stages[:100]) == []


def test_every_fault_is_listed_at_once() -> None:
    found = faults(stage("set", after=["gone"], weight=-2), stage("a", after=["b"]), stage("b", after=["a"]))
    assert [code for code, _, _ in found] == ["negative weight", "unknown stage", "cycle"]


@pytest.mark.parametrize(
    ("change", "field", "expected"),
    [
        ({"trade": "plumber"}, "trade", "one of frame_crew, framing"),
        ({"trade": None}, "trade", "one of frame_crew, framing"),
        ({"kind": "task"}, "kind", "one of work, check"),
        ({"sign_roles": ["foreman"]}, "sign_roles", "one of supervisor, inspector"),
        ({"after": "receive"}, "after", "a list of at most 100"),
        ({"after": ["receive", "receive"]}, "after", "each name once"),
        ({"weight": True}, "weight", "a whole number"),
        ({"weight": 1.5}, "weight", "a whole number"),
        ({"hold_point": "yes"}, "hold_point", "true or false"),
        ({"title": "Set"}, "title", "each 1 to 300 characters"),
        ({"title": {"en": "Set", "es": ""}}, "title", "each 1 to 300 characters"),
        ({"if_unknown": "maybe"}, "if_unknown", "one of needed, not_needed"),
        ({"checklist": ["plumb"]}, "text", "each 1 to 300 characters"),
        ({"aplies_when": None}, "aplies_when", "only the fields after, applies_when"),
        ({"applies_when": {"attr": "colour", "is": 1}}, "condition", "one of construction"),
    ],
)
def test_a_field_that_cannot_be_read_is_named_with_what_was_expected(
    change: dict[str, Any], field: str, expected: str
) -> None:
    code, where, words = one_fault(stage("set") | change)
    assert (code, where) == ("unreadable", "set")
    assert field in words
    assert expected in words
    spanish = spanish_of(stage("set") | change)
    assert not re.search(r"\b(expected|one of|list|each|whole|number|letters|true or|only the)\b", spanish), spanish


def spanish_of(wrong: dict[str, Any]) -> str:
    with pytest.raises(PlanError) as refused:
        read_plan(document(wrong))
    (problem,) = refused.value.problems
    return problem.said.es


@pytest.mark.parametrize("code", ["", "Set", "set-up", "1set", "s" * 41, None, 7])
def test_a_code_is_a_short_plain_name(code: object) -> None:
    assert faults(stage("set") | {"code": code})[0][0] == "unreadable"


@pytest.mark.parametrize("garbage", [None, [], "plan", 7])
def test_what_is_no_plan_at_all_is_refused_in_words(garbage: object) -> None:
    with pytest.raises(PlanError, match="expected"):
        read_plan(garbage)  # type: ignore[arg-type]


def test_a_plan_with_a_fault_cannot_be_made_at_all() -> None:
    with pytest.raises(PlanError):
        Plan(
            "trial", Words("Trial", "Prueba"), "steel_stud", (Stage("a", Words("a", "a"), Trade.FRAMING, after=("a",)),)
        )


@st.composite
def links(draw: st.DrawFn) -> tuple[int, list[tuple[int, int]]]:
    """Some stages, by number, and who of them waits for whom, rings and all."""
    stages = draw(st.integers(1, 7))
    number = st.integers(0, stages - 1)
    return stages, draw(st.lists(st.tuples(number, number), max_size=14, unique=True))


@given(links())
def test_rings_are_found_exactly_where_networkx_finds_them(drawn: tuple[int, list[tuple[int, int]]]) -> None:
    count, waits = drawn
    after: dict[str, list[str]] = {f"s{number}": [] for number in range(count)}
    for later, earlier in waits:
        after[f"s{later}"].append(f"s{earlier}")
    graph = nx.DiGraph()
    graph.add_nodes_from(after)
    graph.add_edges_from((later, earlier) for later, befores in after.items() for earlier in befores)
    stages = [Stage(code, Words(code, code), Trade.FRAMING, after=tuple(befores)) for code, befores in after.items()]
    problems = problems_of(stages)

    rings = [p.words.split(":")[0].split(" waits for ") for p in problems if p.code == "cycle"]
    assert bool(rings) is not nx.is_directed_acyclic_graph(graph)
    simple = {frozenset(ring) for ring in nx.simple_cycles(graph)}
    assert all(ring[0] == ring[-1] and nx.is_path(graph, ring) and frozenset(ring) in simple for ring in rings)
    # With the named rings taken out there is no other left, and what waited for one is out of reach.
    in_rings = {code for ring in rings for code in ring}
    assert nx.is_directed_acyclic_graph(graph.subgraph(set(graph) - in_rings))
    cut_off = {p.stage for p in problems if p.code == "unreachable stage"}
    assert cut_off == {code for code in graph if nx.descendants(graph, code) & in_rings} - in_rings
