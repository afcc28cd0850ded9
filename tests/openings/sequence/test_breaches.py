"""Work that went ahead of what it should have waited for."""

import pytest

from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.stage import Kind, Role, Stage, Trade, Words
from openings.sequence.state import Breach, BreachKind, OpeningState


def only(state: OpeningState) -> Breach:
    (breach,) = state.breaches
    return breach


def test_work_in_order_breaches_nothing(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("board")
    assert fold(steel, plain, day.facts).breaches == ()


def test_boarded_before_checked_is_critical(steel, plain, day) -> None:
    day.to_trueness()
    board = day("board", "start", person="boarder", company="board company")
    breach = only(fold(steel, plain, day.facts))
    assert breach.key == ("board", "trueness", board.id)
    assert (breach.kind, breach.critical, breach.at) == (BreachKind.PAST_HOLD_POINT, True, board.corrected)
    assert breach.evidence["person"] == "boarder"
    assert breach.evidence["company"] == "board company"
    assert breach.evidence["prerequisite_fact"] is None


def test_boarded_before_checked_stays_when_the_check_comes_too_late(steel, plain, day) -> None:
    day.to_trueness()
    board = day("board", "start")
    before = fold(steel, plain, day.facts)
    reading = day.check("trueness", signed_by="inspector")
    breach = only(fold(steel, plain, day.facts))
    assert breach.key == only(before).key == ("board", "trueness", board.id)
    assert (breach.kind, breach.critical) == (BreachKind.PAST_HOLD_POINT, True)
    assert (breach.evidence["righted_by"], breach.evidence["righted_at"]) == (reading.id, reading.corrected)


def test_boarded_over_an_incomplete_check_is_boarded_before_checked(steel, plain, day) -> None:
    day.to_trueness()
    reading = day.check("trueness", verdict="incomplete", signed_by="inspector")
    day.work("board")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.critical) == (BreachKind.PAST_HOLD_POINT, True)
    assert breach.evidence["prerequisite_fact"] == reading.id


@pytest.mark.parametrize("signed_later", [True, False])
def test_boarded_before_signed_is_a_lesser_breach(steel, plain, day, signed_later: bool) -> None:
    day.to_trueness()
    reading = day.check("trueness")
    day("board", "start")
    if signed_later:
        day("trueness", "sign", about=reading.id, role="inspector")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.critical) == (BreachKind.BEFORE_SIGNED, False)
    assert (breach.evidence["righted_by"] is not None) is signed_later


def test_boarded_over_a_failed_check_is_critical(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", verdict="fail", signed_by="inspector")
    day.work("board")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.critical) == (BreachKind.FAILED_CHECK, True)


def test_boarded_over_an_outdated_check_is_critical(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day.work("anchor", "board")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.critical) == (BreachKind.CHECK_OUTDATED, True)


def test_an_outdated_and_unsigned_check_is_outdated_first(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness")
    day.work("anchor", "board")
    assert only(fold(steel, plain, day.facts)).kind is BreachKind.CHECK_OUTDATED


def test_set_over_a_failed_match_is_not_critical(steel, plain, day) -> None:
    day.work("receive", "layout")
    day.check("ffl")
    day.check("match", verdict="fail")
    day.work("set")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.prerequisite, breach.kind, breach.critical) == ("match", BreachKind.FAILED_CHECK, False)


def test_work_before_work_is_out_of_order(steel, plain, day) -> None:
    day.to_trueness()
    later_wire = plain | {"electrified": True}
    breach = only(fold(steel, later_wire, day.facts))
    assert (breach.stage, breach.prerequisite) == ("stud", "roughin")
    assert (breach.kind, breach.critical) == (BreachKind.OUT_OF_ORDER, False)


@pytest.mark.parametrize(("next_kind", "expected"), [
    (Kind.WORK, (BreachKind.PAST_HOLD_POINT, True)),
    (Kind.CHECK, (BreachKind.OUT_OF_ORDER, False)),
])  # fmt: skip
def test_only_work_can_pass_a_hold_point(day, next_kind, expected) -> None:
    words = Words("x", "x")
    hold_point = Stage("read", words, Trade.INSPECTOR, Kind.CHECK, hold_point=True, sign_roles=(Role.INSPECTOR,))
    plan = Plan("trial", words, "masonry", (hold_point, Stage("next", words, Trade.MASON, next_kind, after=("read",))))
    day("next", "finish", verdict="pass")
    breach = only(fold(plan, {}, day.facts))
    assert (breach.kind, breach.critical) == expected


def test_every_missing_prerequisite_is_its_own_breach(steel, plain, day) -> None:
    day("set", "start")
    assert [breach.prerequisite for breach in fold(steel, plain, day.facts).breaches] == ["match", "ffl", "layout"]


def test_one_episode_breaches_a_prerequisite_once(steel, plain, day) -> None:
    day.to_trueness()
    start, _ = day("board", "start"), day("board", "finish")
    assert only(fold(steel, plain, day.facts)).fact == start.id


def test_a_second_episode_breaches_anew(steel, plain, day) -> None:
    day.to_trueness()
    causes = [day("board", "start"), day("board", "finish"), day("board", "start"), day("board", "finish")]
    found = [breach.fact for breach in fold(steel, plain, day.facts).breaches]
    assert found == [causes[0].id, causes[2].id]


def test_a_second_start_with_no_finish_between_breaches_anew(steel, plain, day) -> None:
    day.to_trueness()
    causes = [day("board", "start"), day("board", "start")]
    assert [breach.fact for breach in fold(steel, plain, day.facts).breaches] == [cause.id for cause in causes]


def test_a_finish_breaches_what_gave_way_after_its_start(steel, plain, day) -> None:
    day.to_trueness()
    day.check("trueness", signed_by="inspector")
    day("board", "start")
    day.work("set")
    finish = day("board", "finish")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.fact, breach.kind) == (finish.id, BreachKind.CHECK_OUTDATED)


def test_a_stage_that_is_not_needed_is_looked_through(steel, plain, day) -> None:
    day("hang", "start")
    assert only(fold(steel, plain, day.facts)).prerequisite == "finish"


def close_call(day, gap: int, uncertainty: int, **reader: object):
    """Board started, and the check's pass `gap` ms later by the corrected clocks."""
    day.to_trueness()
    start = day("board", "start", device="boarder", uncertainty=uncertainty)
    reading = {"device": "reader", "uncertainty": uncertainty, "corrected": start.corrected + gap} | reader
    day("trueness", "finish", verdict="pass", id="reading", received=start.corrected + 600_000, **reading)
    day("trueness", "sign", about="reading", role="inspector")
    return day.facts


def test_closer_than_the_two_clocks_can_tell_is_order_uncertain(steel, plain, day) -> None:
    breach = only(fold(steel, plain, close_call(day, gap=3_999, uncertainty=2_000)))
    assert (breach.kind, breach.was) == (BreachKind.ORDER_UNCERTAIN, BreachKind.PAST_HOLD_POINT)
    assert not breach.critical
    assert (breach.evidence["righted_by"], breach.evidence["uncertainty"]) == ("reading", 4_000)


def test_as_far_apart_as_the_clocks_combined_uncertainty_is_certain(steel, plain, day) -> None:
    breach = only(fold(steel, plain, close_call(day, gap=4_000, uncertainty=2_000)))
    assert (breach.kind, breach.critical) == (BreachKind.PAST_HOLD_POINT, True)


def test_on_one_phone_the_counter_leaves_no_doubt(steel, plain, day) -> None:
    breach = only(fold(steel, plain, close_call(day, gap=1, uncertainty=2_000, device="boarder")))
    assert (breach.kind, breach.critical) == (BreachKind.PAST_HOLD_POINT, True)


def test_an_uncertain_breach_keeps_its_key(steel, plain, day) -> None:
    facts = close_call(day, gap=1, uncertainty=2_000)
    without_reading = [fact for fact in facts if fact.stage != "trueness"]
    assert only(fold(steel, plain, facts)).key == only(fold(steel, plain, without_reading)).key


def test_a_signature_moments_after_the_board_leaves_the_order_uncertain(steel, plain, day) -> None:
    day.to_trueness()
    reading = day.check("trueness")
    start = day("board", "start")
    day("trueness", "sign", about=reading.id, role="inspector", corrected=start.corrected + 500)
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.was) == (BreachKind.ORDER_UNCERTAIN, BreachKind.BEFORE_SIGNED)


def test_a_pass_over_unfinished_work_puts_nothing_right_however_close(steel, plain, day) -> None:
    day.to_trueness()
    day("anchor", "start")
    start = day("board", "start")
    day("trueness", "finish", verdict="pass", device="reader", corrected=start.corrected + 1)
    breach = next(breach for breach in fold(steel, plain, day.facts).breaches if breach.stage == "board")
    assert (breach.kind, breach.critical) == (BreachKind.PAST_HOLD_POINT, True)
    assert breach.evidence["righted_by"] is None


def test_signing_a_reading_that_is_out_of_date_puts_nothing_right(steel, plain, day) -> None:
    day.to_trueness()
    reading = day.check("trueness")
    day("board", "start")
    day("anchor", "start")
    day("trueness", "sign", about=reading.id, role="inspector")
    breach = next(breach for breach in fold(steel, plain, day.facts).breaches if breach.stage == "board")
    assert (breach.kind, breach.evidence["righted_by"]) == (BreachKind.BEFORE_SIGNED, None)


@pytest.mark.parametrize("signed", [True, False])
def test_only_a_signature_puts_right_what_was_missing_a_signature(steel, plain, day, signed: bool) -> None:
    day.to_trueness()
    day.check("trueness")
    day("board", "start")
    if signed:  # by a clock that puts it before the reading it signs
        day("trueness", "sign", about="second", role="inspector")
    day("trueness", "finish", verdict="pass", id="second")
    breach = only(fold(steel, plain, day.facts))
    assert (breach.kind, breach.evidence["righted_by"]) == (BreachKind.BEFORE_SIGNED, "second" if signed else None)


def test_a_check_in_that_arrives_late_and_explains_a_breach_closes_it(steel, plain, day) -> None:
    day.to_trueness()
    late = [day.check("trueness")]
    late.append(day("trueness", "sign", about=late[0].id, role="inspector"))
    day.work("board")
    on_time = [fact for fact in day.facts if fact not in late]
    before = fold(steel, plain, on_time)
    assert only(before).critical
    after = fold(steel, plain, day.facts)
    assert after.breaches == ()


def test_a_late_check_in_that_explains_nothing_closes_nothing(steel, plain, day) -> None:
    day.to_trueness()
    day.work("board")
    before = fold(steel, plain, day.facts)
    day("trueness", "note", note="was on another floor")
    assert fold(steel, plain, day.facts).breaches == before.breaches
