"""The same questions asked of networkx, on plans drawn at random."""

from dataclasses import dataclass
from itertools import pairwise

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from openings.sequence.facts import Fact
from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.readiness import blockers, remaining_lengths, remaining_path
from openings.sequence.stage import Kind, Stage, Trade, Words
from openings.sequence.state import State
from openings.sequence.structure import structure_of

NAME = Words("Trial", "Prueba")


@dataclass(frozen=True)
class Drawn:
    stages: tuple[Stage, ...]
    needed: frozenset[str]
    graph: nx.DiGraph  # of all stages; an edge runs from what comes first to what waits for it

    def contracted(self) -> nx.DiGraph:
        """The graph of the needed stages, each of the others bridged over and taken out."""
        graph = self.graph.copy()
        for code in set(graph) - self.needed:
            graph.add_edges_from((before, after) for before in graph.pred[code] for after in graph.succ[code])
            graph.remove_node(code)
        return graph


@st.composite
def drawn_plans(draw: st.DrawFn) -> Drawn:
    """A plan without rings, its stages in an order that has nothing to do with what they wait for."""
    count = draw(st.integers(1, 9))
    codes = draw(st.permutations([f"s{number}" for number in range(count)]))
    after = {code: draw(st.sets(st.sampled_from(codes[:rank]))) if rank else set() for rank, code in enumerate(codes)}
    graph = nx.DiGraph()
    graph.add_nodes_from(after)
    graph.add_edges_from((before, code) for code, befores in after.items() for before in befores)
    stages = []
    for number in range(count):
        code = f"s{number}"
        ancestors = sorted(nx.ancestors(graph, code))
        is_check = draw(st.booleans())
        work_before = [stage for stage in ancestors if int(stage[1:]) % 2 == 0]
        covers = draw(st.sets(st.sampled_from(work_before))) if is_check and number % 2 and work_before else set()
        kind = Kind.CHECK if is_check and number % 2 else Kind.WORK
        stages.append(
            Stage(code, NAME, Trade.FRAMING, kind, after=tuple(sorted(after[code])), covers=tuple(sorted(covers)))
        )
    needed = draw(st.sets(st.sampled_from(codes)))
    return Drawn(tuple(stages), frozenset(needed), graph)


@given(drawn_plans())
@settings(max_examples=300)
def test_stages_not_needed_are_bridged_over(drawn: Drawn) -> None:
    structure = structure_of(drawn.stages, drawn.needed)
    graph = drawn.contracted()
    assert set(structure.order) == drawn.needed
    for code in drawn.needed:
        assert set(structure.prerequisites[code]) == set(graph.pred[code])
        assert set(structure.followers[code]) == set(graph.succ[code])
        assert structure.ancestors[code] == nx.ancestors(graph, code) == nx.ancestors(drawn.graph, code) & drawn.needed
    rank = {code: number for number, code in enumerate(structure.order)}
    assert all(rank[before] < rank[after] for before, after in graph.edges)


@given(drawn_plans(), st.data())
@settings(max_examples=300)
def test_the_longest_remaining_path_is_the_one_networkx_finds(drawn: Drawn, data: st.DataObject) -> None:
    structure = structure_of(drawn.stages, drawn.needed)
    standing = data.draw(st.sets(st.sampled_from(sorted(drawn.needed)))) if drawn.needed else set()
    lengths = remaining_lengths(structure, standing)

    graph = drawn.contracted()
    for code in drawn.needed:
        # A path's length is what lies at the far end of its links, and what lies at its start.
        onward = graph.subgraph({code} | nx.descendants(graph, code)).copy()
        onward.add_edge("start", code)
        for _, later, link in onward.edges(data=True):
            link["left"] = 0 if later in standing else 1
        assert lengths[code] == nx.dag_longest_path_length(onward, weight="left")

    path = remaining_path(structure, standing, lengths)
    assert len(path) == max(lengths.values(), default=0)
    assert not set(path) & standing
    assert all(nx.has_path(graph, before, later) for before, later in pairwise(path))
    if path:
        assert not nx.ancestors(graph, path[0]) - standing


@given(drawn_plans(), st.data())
@settings(max_examples=300)
def test_what_blocks_a_stage_is_what_networkx_says_comes_before_it(drawn: Drawn, data: st.DataObject) -> None:
    structure = structure_of(drawn.stages, drawn.needed)
    codes = st.sets(st.sampled_from(sorted(drawn.needed))) if drawn.needed else st.just(set())
    standing = data.draw(codes)
    outdated = data.draw(codes) - standing
    graph = drawn.contracted()
    for code in drawn.needed:
        expected = (set(graph.pred[code]) - standing) | (nx.ancestors(graph, code) & outdated)
        found = blockers(structure, code, standing, outdated)
        assert set(found) == expected
        assert list(found) == sorted(found, key=list(structure.stages).index)


@given(drawn_plans(), st.data())
@settings(max_examples=300)
def test_ready_outdated_and_done_follow_from_the_graph(drawn: Drawn, data: st.DataObject) -> None:
    """Finish some stages in any order; then say from the graph alone what every state must be."""
    plan = Plan("trial", NAME, "steel_stud", drawn.stages)
    codes = [stage.code for stage in drawn.stages]
    finished = data.draw(st.lists(st.sampled_from(codes), max_size=14))
    facts = [
        Fact(id=f"f{n:02}", stage=code, action="finish", verdict="pass", corrected=n, received=n)
        for n, code in enumerate(finished)
    ]
    state = fold(plan, {}, facts)

    last = {code: n for n, code in enumerate(finished)}
    covers = {stage.code: stage.covers for stage in drawn.stages}
    outdated = {c for c in last if any(last.get(covered, len(finished)) > last[c] for covered in covers[c])}
    done = set(last) - outdated
    for code in codes:
        befores = set(drawn.graph.pred[code])
        free = befores <= done and not nx.ancestors(drawn.graph, code) & outdated
        expected = State.READY if free else State.WAITING
        if code in last:
            expected = State.OUTDATED if code in outdated else State.DONE
        assert state.stages[code].state is expected
        assert state.stages[code].actionable is (free and code not in done)
