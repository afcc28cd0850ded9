"""What state a stage is in, and what may be done next."""

import json

import pytest

from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.stage import Stage, Trade, Words
from openings.sequence.state import ConflictCode, OpeningState, State


def states(state: OpeningState, *codes: str) -> list[State]:
    return [state.stages[code].state for code in codes]


def conflicts(state: OpeningState) -> list[tuple[ConflictCode, str]]:
    return [(conflict.code, conflict.fact) for conflict in state.conflicts]


def test_before_anything_is_reported_only_what_waits_for_nothing_is_ready(steel: Plan, plain) -> None:
    state = fold(steel, plain, [])
    assert {code for code, stage in state.stages.items() if stage.state is State.READY} == {"receive", "ffl", "layout"}
    assert {code for code, stage in state.stages.items() if stage.state is State.NOT_NEEDED} == {
        "assemble", "roughin", "flooring",
    }  # fmt: skip
    assert state.stages["set"].blocked_by == ("match", "ffl", "layout")
    assert (state.earned, state.last_at) == (0, None)


def test_an_opening_not_known_to_be_wired_waits_for_its_wire(steel: Plan) -> None:
    unknown = fold(steel, {}, [])
    assert states(unknown, "roughin", "assemble", "flooring") == [State.WAITING, State.NOT_NEEDED, State.NOT_NEEDED]
    assert unknown.stages["stud"].blocked_by == ("set", "roughin")


def test_work_is_underway_when_started_done_when_finished_and_underway_when_redone(steel: Plan, plain, day) -> None:
    seen = []
    for action in ("start", "finish", "start", "finish"):
        day("layout", action)
        seen.append(fold(steel, plain, day.facts).stages["layout"].state)
    assert seen == [State.UNDERWAY, State.DONE, State.UNDERWAY, State.DONE]


def test_work_finished_without_a_start_is_done(steel: Plan, plain, day) -> None:
    finish = day("layout", "finish", person="framer")
    stage = fold(steel, plain, day.facts).stages["layout"]
    assert (stage.state, stage.done_at, stage.started_at, stage.by) == (State.DONE, finish.corrected, None, "framer")


def test_work_finished_a_second_time_without_a_start_has_no_start(steel: Plan, plain, day) -> None:
    start = day("layout", "start")
    day.work("layout")
    assert fold(steel, plain, day.facts).stages["layout"].started_at == start.corrected
    day.work("layout")
    assert fold(steel, plain, day.facts).stages["layout"].started_at is None


def test_a_reading_that_passes_is_not_enough_where_a_signature_is_asked(steel: Plan, plain, day) -> None:
    day.to_trueness()
    reading = day.check("trueness")
    stage = fold(steel, plain, day.facts).stages["trueness"]
    assert (stage.state, stage.awaits_signature, stage.reading) == (State.UNDERWAY, True, reading.id)
    sign = day("trueness", "sign", about=reading.id, role="inspector")
    stage = fold(steel, plain, day.facts).stages["trueness"]
    assert (stage.state, stage.awaits_signature, stage.signed_by) == (State.DONE, False, sign.id)
    assert stage.done_at == sign.corrected


def test_a_check_nobody_need_sign_is_done_when_it_passes(steel: Plan, plain, day) -> None:
    day.work("receive")
    day.check("match")
    assert states(fold(steel, plain, day.facts), "match") == [State.DONE]


@pytest.mark.parametrize("verdict", ["incomplete", None, "splendid"])
def test_a_reading_without_a_pass_never_passes(steel: Plan, plain, day, verdict) -> None:
    day("ffl", "finish", verdict=verdict)
    ffl = fold(steel, plain, day.facts).stages["ffl"]
    assert (ffl.state, ffl.awaits_signature) == (State.UNDERWAY, False)


def test_a_failed_reading_fails_the_check_and_a_later_pass_mends_it(steel: Plan, plain, day) -> None:
    day.check("ffl", verdict="fail")
    failed = fold(steel, plain, day.facts).stages["ffl"]
    assert (failed.state, failed.actionable) == (State.FAILED, True)
    day.check("ffl")
    assert states(fold(steel, plain, day.facts), "ffl") == [State.DONE]


def test_a_hand_may_say_that_a_check_failed_but_not_that_it_passed(steel: Plan, plain, day) -> None:
    day("ffl", "fail", verdict="pass")
    assert states(fold(steel, plain, day.facts), "ffl") == [State.FAILED]


def test_a_check_begun_again_is_underway_until_it_is_read(steel: Plan, plain, day) -> None:
    day.check("ffl")
    day("ffl", "start")
    assert states(fold(steel, plain, day.facts), "ffl") == [State.UNDERWAY]


def test_a_signature_counts_though_the_signers_clock_puts_it_before_the_reading(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day("trueness", "sign", about="reading", role="supervisor")
    reading = day("trueness", "finish", verdict="pass", id="reading")
    stage = fold(steel, plain, day.facts).stages["trueness"]
    assert (stage.state, stage.done_at) == (State.DONE, reading.corrected)


def test_a_signature_holds_for_its_own_reading_only(steel: Plan, plain, day) -> None:
    day.to_trueness()
    first = day.check("trueness", signed_by="inspector")
    second = day.check("trueness")
    assert fold(steel, plain, day.facts).stages["trueness"].awaits_signature
    day("trueness", "sign", about=first.id, role="inspector")
    assert fold(steel, plain, day.facts).stages["trueness"].awaits_signature
    day("trueness", "sign", about=second.id, role="inspector")
    assert states(fold(steel, plain, day.facts), "trueness") == [State.DONE]


def test_a_signature_does_not_turn_a_failed_reading_into_a_pass(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", verdict="fail", signed_by="inspector")
    assert states(fold(steel, plain, day.facts), "trueness") == [State.FAILED]


@pytest.mark.parametrize("signed_first", [True, False])
@pytest.mark.parametrize(("verdict", "waived"), [("fail", True), ("pass", False)])
def test_only_a_failed_reading_is_waived_whichever_clock_ran_early(
    steel: Plan, plain, day, verdict: str, waived: bool, signed_first: bool
) -> None:
    day.to_trueness()
    early, late = day.now + 1_000, day.now + 2_000
    signed_at, read_at = (early, late) if signed_first else (late, early)
    day("trueness", "finish", verdict=verdict, id="reading", device="reader", corrected=read_at)
    day("trueness", "sign", about="reading", role="supervisor", waives=True, corrected=signed_at)
    trueness = fold(steel, plain, day.facts).stages["trueness"]
    assert (trueness.state, trueness.waived, trueness.done_at) == (State.DONE, waived, late)


def test_only_a_supervisor_waives(steel: Plan, plain, day) -> None:
    day.to_trueness()
    reading = day.check("trueness", verdict="fail")
    waiver = day("trueness", "sign", about=reading.id, role="inspector", waives=True)
    state = fold(steel, plain, day.facts)
    assert states(state, "trueness") == [State.FAILED]
    assert conflicts(state) == [(ConflictCode.SIGNER_NOT_ALLOWED, waiver.id)]


def test_an_inspector_does_not_sign_where_the_plan_asks_for_a_supervisor(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("board")
    day.check("recheck", signed_by="inspector")
    state = fold(steel, plain, day.facts)
    assert conflicts(state) == [(ConflictCode.SIGNER_NOT_ALLOWED, day.facts[-1].id)]
    assert state.stages["recheck"].awaits_signature


@pytest.mark.parametrize("about", [None, "no-such-reading", "fact-001"])
def test_a_signature_that_names_no_reading_of_its_stage_is_a_conflict(steel: Plan, plain, day, about) -> None:
    day.to_trueness()
    day.check("trueness")
    sign = day("trueness", "sign", about=about, role="inspector")
    assert conflicts(fold(steel, plain, day.facts)) == [(ConflictCode.SIGNS_NO_READING, sign.id)]


def test_what_fits_no_stage_is_kept_as_a_conflict_and_changes_nothing(steel: Plan, plain, day) -> None:
    before = fold(steel, plain, [])
    stray = [
        (day("paint", "finish"), ConflictCode.UNKNOWN_STAGE),
        (day("roughin", "finish"), ConflictCode.STAGE_NOT_NEEDED),
        (day("layout", "fail"), ConflictCode.WORK_CANNOT_FAIL),
        (day("layout", "sign"), ConflictCode.NOTHING_TO_SIGN),
        (day("match", "sign", role="supervisor"), ConflictCode.NOTHING_TO_SIGN),
        (day("layout", "dance"), ConflictCode.UNKNOWN_ACTION),
    ]
    state = fold(steel, plain, day.facts)
    assert conflicts(state) == [(code, fact.id) for fact, code in stray]
    assert (state.stages, state.breaches, state.next_stage) == (before.stages, (), before.next_stage)


def test_a_note_changes_nothing(steel: Plan, plain, day) -> None:
    note = day("layout", "note", note="core drill in the way")
    state = fold(steel, plain, day.facts)
    assert (state.conflicts, states(state, "layout"), state.last_at) == ((), [State.READY], note.corrected)


@pytest.mark.parametrize("redo", ["start", "finish"])
@pytest.mark.parametrize("stage", ["set", "stud", "anchor"])
def test_a_check_is_outdated_when_what_it_covers_is_redone(steel: Plan, plain, day, stage: str, redo: str) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    again = day(stage, redo)
    state = fold(steel, plain, day.facts)
    trueness = state.stages["trueness"]
    assert (trueness.state, trueness.outdated_by, trueness.since) == (State.OUTDATED, (stage,), again.corrected)
    assert trueness.done_at is None


def test_a_check_is_outdated_since_the_redoing_began(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    began = day("anchor", "start")
    day("anchor", "finish")
    assert fold(steel, plain, day.facts).stages["trueness"].since == began.corrected


def test_a_check_is_current_again_once_it_is_read_again(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("anchor")
    day.check("trueness", signed_by="inspector")
    assert states(fold(steel, plain, day.facts), "trueness") == [State.DONE]


def test_work_the_check_does_not_cover_leaves_it_current(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("layout")
    assert states(fold(steel, plain, day.facts), "trueness") == [State.DONE]


def test_a_check_read_before_the_work_it_covers_proves_nothing(steel: Plan, plain, day) -> None:
    day.work("receive", "layout", "set", "stud")
    day.check("trueness", signed_by="inspector")
    trueness = fold(steel, plain, day.facts).stages["trueness"]
    assert (trueness.state, trueness.outdated_by) == (State.OUTDATED, ("anchor",))


def test_what_rests_on_an_outdated_check_is_not_ready_however_far_behind_it_lies(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("board")
    day.check("recheck", signed_by="supervisor")
    assert states(fold(steel, plain, day.facts), "fix") == [State.READY]
    day.work("set")
    state = fold(steel, plain, day.facts)
    assert states(state, "trueness", "board", "recheck", "fix") == [
        State.OUTDATED, State.DONE, State.DONE, State.WAITING,
    ]  # fmt: skip
    assert state.stages["fix"].blocked_by == ("trueness",)
    assert state.ready == ("trueness",)


def test_an_outdated_check_earns_nothing(steel: Plan, plain, day) -> None:
    day.to_trueness()
    before = fold(steel, plain, day.facts)
    day.check("trueness", signed_by="inspector")
    weight = next(stage.weight for stage in steel.stages if stage.code == "trueness")
    assert fold(steel, plain, day.facts).earned == before.earned + weight
    day.work("anchor")
    assert fold(steel, plain, day.facts).earned == before.earned


def test_the_next_trade_is_the_one_on_the_longest_way_to_the_end(steel: Plan, plain, day) -> None:
    state = fold(steel, plain, [])
    # receive, match, set and all behind it: one longer than the way from the floor level or the lines.
    assert (state.next_stage, state.next_trade, state.other_trades) == (
        "receive", "frame_crew", ("supervisor", "framing"),
    )  # fmt: skip
    assert state.ready == ("receive", "ffl", "layout")
    assert state.remaining_path[:3] == ("receive", "match", "set")
    day.work("receive")
    day.check("match")
    state = fold(steel, plain, day.facts)
    assert (state.next_stage, state.other_trades) == ("ffl", ("framing",))  # equal ways: the plan's own order


def test_what_is_ready_is_listed_by_the_length_of_what_hangs_on_it_not_by_plan_order(day) -> None:
    words = Words("x", "x")
    short, first, last = (
        Stage("short", words, Trade.PAINTER),
        Stage("first", words, Trade.FRAMING),
        Stage("last", words, Trade.DRYWALL, after=("first",)),
    )
    state = fold(Plan("trial", words, "masonry", (short, first, last)), {}, [])
    assert (state.ready, state.next_trade, state.other_trades) == (("first", "short"), "framing", ("painter",))
    assert state.remaining_path == ("first", "last")


def test_work_underway_ahead_of_its_turn_is_nobodys_next_work(steel: Plan, plain, day) -> None:
    day("board", "start")
    state = fold(steel, plain, day.facts)
    assert states(state, "board") == [State.UNDERWAY]
    assert not state.stages["board"].actionable
    assert "board" not in state.ready


def test_ready_since_the_last_of_what_it_waited_for(steel: Plan, plain, day) -> None:
    day.to_trueness()
    assert fold(steel, plain, day.facts).stages["trueness"].since == day.facts[-1].corrected


def test_the_state_can_be_kept_as_json(steel: Plan, plain, day) -> None:
    day.to_trueness()
    day.work("board", "paint")
    day("set", "hold")
    state = fold(steel, plain, day.facts)
    kept = json.loads(json.dumps(state.to_dict()))
    assert kept == state.to_dict()
    assert kept["stages"]["stud"]["state"] == "done"
    assert kept["breaches"][0]["kind"] == "past hold point"
    assert kept["conflicts"][0]["code"] == "unknown stage"
    assert kept["holds"][0]["open"] is True
