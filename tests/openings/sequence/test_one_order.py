"""The one order facts are read in, and what is taken out before."""

import pytest

from openings.sequence.facts import Fact, in_order, live_facts
from openings.sequence.fold import fold
from openings.sequence.state import ConflictCode, State


def fact(id_: str, corrected: int, received: int = 10**9, **given: object) -> Fact:
    return Fact(id=id_, stage="layout", action="note", corrected=corrected, received=received, **given)  # type: ignore[arg-type]


def effective(*facts: Fact) -> dict[str, int]:
    placed, _ = in_order(facts)
    return {one.id: at for at, _, _, _, one in placed}


def test_nothing_happened_after_it_was_received() -> None:
    assert effective(fact("a", corrected=900, received=500)) == {"a": 500}
    assert effective(fact("a", corrected=900, received=500, device="p", counter=1)) == {"a": 500}


def test_a_later_counter_is_raised_to_the_latest_before_it() -> None:
    first, second = fact("a", 700, device="p", counter=1), fact("b", 300, device="p", counter=2)
    assert effective(second, first) == {"a": 700, "b": 700}
    assert [one.id for *_, one in in_order([second, first])[0]] == ["a", "b"]


def test_what_a_later_counter_was_received_before_happened_before_that() -> None:
    first = fact("a", corrected=800, received=900, device="p", counter=1)
    second = fact("b", corrected=300, received=400, device="p", counter=2)
    assert effective(first, second) == {"a": 400, "b": 400}


def test_phones_do_not_move_each_others_times() -> None:
    assert effective(fact("a", 700, device="p", counter=1), fact("b", 300, device="q", counter=2)) == {
        "a": 700,
        "b": 300,
    }


def test_a_fact_without_a_counter_stands_alone() -> None:
    facts = [fact("a", 700, device="p", counter=1), fact("b", 300, device="p")]
    assert effective(*facts) == {"a": 700, "b": 300}


def test_equal_times_are_ordered_by_phone_then_counter_then_id() -> None:
    facts = [
        fact("d", 5, device="q", counter=1),
        fact("c", 5, device="p", counter=2),
        fact("b", 5, device="p", counter=2),
        fact("a", 5, device="p", counter=9),
    ]
    assert [one.id for *_, one in in_order(facts)[0]] == ["b", "c", "a", "d"]


def test_a_counter_used_twice_is_flagged_once_for_each_copy() -> None:
    facts = [fact(id_, 5, device="p", counter=4) for id_ in ("c", "a", "b")]
    _, conflicts = in_order(facts)
    assert [(c.code, c.fact, c.params["other"]) for c in conflicts] == [
        (ConflictCode.COPIED_COUNTER, "b", "a"),
        (ConflictCode.COPIED_COUNTER, "c", "b"),
    ]


def test_the_same_counter_on_two_phones_is_no_copy() -> None:
    assert in_order([fact("a", 5, device="p", counter=4), fact("b", 5, device="q", counter=4)])[1] == []


def test_a_copied_counter_shows_in_the_state(steel, plain, day) -> None:
    day("layout", "start", counter=7)
    again = day("layout", "finish", counter=7)
    state = fold(steel, plain, day.facts)
    assert [(c.code, c.fact) for c in state.conflicts] == [(ConflictCode.COPIED_COUNTER, again.id)]


def test_what_is_taken_back_was_never_there(steel, plain, day) -> None:
    finish = day("layout", "finish")
    void = day("layout", "void", about=finish.id)
    state = fold(steel, plain, day.facts)
    assert state.stages["layout"].state is State.READY
    assert state.taken_back == {finish.id: void.id}


def test_voiding_the_covered_work_outdates_its_check(steel, plain, day) -> None:
    day.to_trueness()
    anchor = day.facts[-1]
    day.check("trueness", signed_by="inspector")
    day("anchor", "void", about=anchor.id)
    trueness = fold(steel, plain, day.facts).stages["trueness"]
    assert (trueness.state, trueness.outdated_by) == (State.OUTDATED, ("anchor",))


def test_a_void_reaches_its_target_though_it_arrived_first(steel, plain, day) -> None:
    day("layout", "void", about="slip")
    day("layout", "finish", id="slip")
    assert fold(steel, plain, day.facts).stages["layout"].state is State.READY


def test_a_void_does_not_move_the_times_of_its_phone(steel, plain, day) -> None:
    finish = day("layout", "finish", counter=1)
    slip = day("receive", "finish", counter=2)
    day("receive", "void", about=slip.id, counter=3, corrected=1, received=2)
    assert fold(steel, plain, day.facts).stages["layout"].done_at == finish.corrected


@pytest.mark.parametrize(
    ("who", "allowed"),
    [
        ({"company": "frame company"}, True),
        ({"company": "board company"}, False),
        ({"company": "board company", "role": "inspector"}, False),
        ({"company": "board company", "role": "supervisor"}, True),
    ],
)
def test_a_check_in_is_taken_back_by_its_own_company_or_a_supervisor(steel, plain, day, who, allowed: bool) -> None:
    finish = day("layout", "finish")
    void = day("layout", "void", about=finish.id, **who)
    state = fold(steel, plain, day.facts)
    assert (state.stages["layout"].state is State.READY) is allowed
    expected = [] if allowed else [(ConflictCode.VOID_NOT_ALLOWED, void.id)]
    assert [(c.code, c.fact) for c in state.conflicts] == expected


def test_a_void_of_nothing_is_a_conflict(steel, plain, day) -> None:
    void = day("layout", "void", about="never-sent")
    state = fold(steel, plain, day.facts)
    assert [(c.code, c.fact) for c in state.conflicts] == [(ConflictCode.VOID_OF_NOTHING, void.id)]


def test_a_void_is_not_taken_back(steel, plain, day) -> None:
    finish = day("layout", "finish")
    void = day("layout", "void", about=finish.id)
    second = day("layout", "void", about=void.id)
    state = fold(steel, plain, day.facts)
    assert state.stages["layout"].state is State.READY
    assert [(c.code, c.fact) for c in state.conflicts] == [(ConflictCode.VOID_OF_VOID, second.id)]


def test_the_same_check_in_twice_is_one() -> None:
    one = fact("a", 5)
    live, _, _ = live_facts([one, one, fact("a", 5)])
    assert list(live.values()) == [one]


def test_two_contents_under_one_id_give_one_and_always_the_same() -> None:
    one, other = fact("a", 5), fact("a", 6)
    assert live_facts([one, other])[0] == live_facts([other, one])[0]
