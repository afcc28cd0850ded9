"""Something stops the opening, until it is lifted."""

import pytest

from openings.sequence.fold import fold
from openings.sequence.state import ConflictCode, State


def test_a_hold_stops_the_whole_opening_whatever_stage_it_was_reported_at(steel, plain, day) -> None:
    day("layout", "start")
    hold = day("match", "hold", note="wrong frame delivered")
    state = fold(steel, plain, day.facts)
    held = {code for code, stage in state.stages.items() if stage.state is State.HELD}
    assert held == {"receive", "ffl", "layout"}
    assert (state.ready, state.next_stage, state.next_trade) == ((), None, None)
    assert state.stages["receive"].since == hold.corrected
    assert (state.holds[0].id, state.holds[0].stage, state.holds[0].open) == (hold.id, "match", True)
    assert state.holds[0].note == "wrong frame delivered"


def test_a_hold_leaves_what_is_done_done_and_what_waits_waiting(steel, plain, day) -> None:
    day.work("receive")
    day("receive", "hold")
    state = fold(steel, plain, day.facts)
    assert [state.stages[code].state for code in ("receive", "match", "set")] == [
        State.DONE, State.HELD, State.WAITING,
    ]  # fmt: skip


def test_a_failed_or_outdated_check_keeps_its_word_but_waits_for_the_hold(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("anchor")
    day.check("ffl", verdict="fail")
    day("set", "hold")
    state = fold(steel, plain, day.facts)
    assert [state.stages[code].state for code in ("trueness", "ffl")] == [State.OUTDATED, State.FAILED]
    assert not any(stage.actionable for stage in state.stages.values())


@pytest.mark.parametrize("who", [{"role": "crew"}, {"role": "supervisor"}])
def test_the_same_company_or_a_supervisor_lifts_a_hold(steel, plain, day, who) -> None:
    hold = day("receive", "hold")
    release = day("receive", "release", about=hold.id, **who)
    state = fold(steel, plain, day.facts)
    assert (state.holds[0].open, state.holds[0].released_by) == (False, release.id)
    assert state.stages["receive"].state is State.READY
    assert state.stages["receive"].since == release.corrected


def test_another_companys_hand_does_not_lift_a_hold(steel, plain, day) -> None:
    hold = day("receive", "hold")
    release = day("receive", "release", about=hold.id, company="board company")
    state = fold(steel, plain, day.facts)
    assert state.holds[0].open
    assert [(c.code, c.fact) for c in state.conflicts] == [(ConflictCode.RELEASE_NOT_ALLOWED, release.id)]


def test_two_hands_of_no_known_company_are_not_of_the_same_one(steel, plain, day) -> None:
    hold = day("receive", "hold", company="")
    day("receive", "release", about=hold.id, company="")
    assert fold(steel, plain, day.facts).holds[0].open


def test_a_release_lifts_a_hold_though_its_clock_puts_it_first(steel, plain, day) -> None:
    day("receive", "release", about="the-hold")
    hold = day("receive", "hold", id="the-hold")
    state = fold(steel, plain, day.facts)
    assert (state.holds[0].open, state.holds[0].released_at) == (False, hold.corrected)


def test_the_first_release_lifts_the_hold_and_a_second_adds_nothing(steel, plain, day) -> None:
    hold = day("receive", "hold")
    first = day("receive", "release", about=hold.id)
    day("receive", "release", about=hold.id, role="supervisor")
    state = fold(steel, plain, day.facts)
    assert (state.holds[0].released_by, state.conflicts) == (first.id, ())


def test_work_begun_during_a_hold_is_held_since_it_began(steel, plain, day) -> None:
    day("receive", "hold")
    start = day("layout", "start")
    assert fold(steel, plain, day.facts).stages["layout"].since == start.corrected


def test_every_hold_must_be_lifted(steel, plain, day) -> None:
    first, _ = day("receive", "hold"), day("receive", "hold")
    day("receive", "release", about=first.id)
    state = fold(steel, plain, day.facts)
    assert [hold.open for hold in state.holds] == [False, True]
    assert state.ready == ()


@pytest.mark.parametrize("about", [None, "gone", "fact-001"])
def test_a_release_of_no_hold_is_a_conflict(steel, plain, day, about) -> None:
    day.work("receive")
    release = day("receive", "release", about=about)
    state = fold(steel, plain, day.facts)
    assert [(c.code, c.fact) for c in state.conflicts] == [(ConflictCode.RELEASE_OF_NOTHING, release.id)]


def test_a_hold_taken_back_was_never_there(steel, plain, day) -> None:
    hold = day("receive", "hold")
    day("receive", "void", about=hold.id)
    assert fold(steel, plain, day.facts).holds == ()
