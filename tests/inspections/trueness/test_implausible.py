"""Patterns that are worth a question, and honest work that is not."""

import random

from inspections.trueness.implausible import FASTEST_CHECK_MS, LoggedCheck, Pattern, questions
from inspections.trueness.readings import read_readings

NAMES = ("squareness", "alignment", "twist", "hinge_plumb_side", "strike_plumb_side")
PACE = FASTEST_CHECK_MS * 3


def check(number: int, readings: dict[str, str], person: str = "p", pace: int = PACE) -> LoggedCheck:
    return LoggedCheck(f"c{number:03}", f"B1-{number:03}", person, number * pace, read_readings(readings).lengths)


def honest(number: int, seed: int = 7) -> dict[str, str]:
    draw = random.Random(seed * 1000 + number)
    return {name: f"{draw.randint(-4, 4) / 32:.7f}" for name in NAMES}


def patterns(checks: list[LoggedCheck]) -> set[Pattern]:
    return {question.pattern for question in questions(checks)}


def test_honest_work_raises_no_question() -> None:
    assert questions([check(number, honest(number)) for number in range(40)]) == []


def test_same_readings_at_three_openings_are_asked_about() -> None:
    copied = honest(1)
    found = questions([check(1, copied), check(2, copied), check(3, copied), check(4, honest(4))])
    assert [question.pattern for question in found] == [Pattern.SAME_SET]
    assert found[0].openings == ("B1-001", "B1-002", "B1-003")
    assert found[0].evidence == {"readings": 5, "openings": 3}


def test_same_opening_read_again_alike_is_no_pattern() -> None:
    same = [LoggedCheck(f"c{i}", "B1-001", "p", i * PACE, read_readings(honest(1)).lengths) for i in range(5)]
    assert questions(same) == []


def test_true_frames_reading_zero_are_no_pattern() -> None:
    assert questions([check(number, dict.fromkeys(NAMES, "0")) for number in range(30)]) == []


def test_same_readings_by_two_people_are_two_people_agreeing() -> None:
    assert questions([check(i, honest(1), person=f"p{i}") for i in range(5)]) == []


def test_faster_than_a_frame_can_be_measured_is_asked_about() -> None:
    quick = [check(number, honest(number), pace=30_000) for number in range(6)]
    found = questions(quick)
    assert [question.pattern for question in found] == [Pattern.TOO_FAST]
    assert found[0].evidence == {"checks": 6, "seconds": 150}
    assert patterns([check(number, honest(number), pace=FASTEST_CHECK_MS) for number in range(6)]) == set()


def test_reading_that_never_varies_is_asked_about() -> None:
    checks = [check(number, honest(number) | {"twist": "1/32"}) for number in range(12)]
    found = questions(checks)
    assert [question.pattern for question in found] == [Pattern.NEVER_VARIES]
    assert found[0].evidence == {"reading": "twist", "openings": 12}
    assert questions(checks[:9]) == []


def test_order_of_arrival_changes_nothing() -> None:
    checks = [check(number, honest(1), pace=30_000) for number in range(6)]
    assert questions(checks) == questions(checks[::-1])


def test_gaps_made_to_one_size_are_no_pattern() -> None:
    """A leaf hung well has 1/8 in all round (SDI sizing questions): many doors read alike and none is copied."""
    gaps = {"gap_hinge": "1/8", "gap_strike_head": "1/8", "gap_strike_mid": "5/32", "gap_head_hinge": "1/8"}
    assert questions([check(number, gaps | {"foot_gap_hinge": "3/4"}) for number in range(30)]) == []
