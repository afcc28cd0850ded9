"""Conditions over a schedule with blanks in it."""

import sqlite3
from contextlib import closing
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from openings.sequence.condition_document import ConditionError, read_condition, write_condition
from openings.sequence.conditions import can_be_true

KNOCKED_DOWN = {"attr": "construction", "is": "knocked_down"}
ELECTRIFIED = {"attr": "electrified", "is": True}

T, F, U = True, False, None
CONSTRUCTION = {T: "knocked_down", F: "welded", U: None}


def asked(document: object, **attributes: object) -> bool | None:
    return read_condition(document).holds(attributes)


def by_database(expression: str, *values: bool | None) -> bool | None:
    """SQL's own three-valued logic, by SQLite: true, false, and NULL for unknown."""
    with closing(sqlite3.connect(":memory:")) as database:
        (answer,) = database.execute(f"SELECT {expression}", values).fetchone()
    return None if answer is None else bool(answer)


@pytest.mark.parametrize(("left", "right"), list(product([T, F, U], repeat=2)))
def test_all_any_and_not_answer_as_a_database_does(left: bool | None, right: bool | None) -> None:
    known = {"construction": CONSTRUCTION[left], "electrified": right}
    assert asked({"all": [KNOCKED_DOWN, ELECTRIFIED]}, **known) is by_database("? AND ?", left, right)
    assert asked({"any": [KNOCKED_DOWN, ELECTRIFIED]}, **known) is by_database("? OR ?", left, right)
    assert asked({"not": ELECTRIFIED}, **known) is by_database("NOT ?", right)


def test_a_blank_in_the_schedule_is_unknown_and_not_no() -> None:
    assert asked(ELECTRIFIED) is None
    assert asked(ELECTRIFIED, electrified=None) is None
    assert asked(ELECTRIFIED, electrified=False) is False


@pytest.mark.parametrize("thickness", [0.25, Fraction(1, 4), Decimal("0.25"), 1])
def test_a_covering_above_nothing_is_due_however_the_number_is_kept(thickness: object) -> None:
    assert asked({"attr": "covering_thickness", "above": 0}, covering_thickness=thickness) is True


def test_bare_slab_is_not_above_nothing() -> None:
    assert asked({"attr": "covering_thickness", "above": 0}, covering_thickness=0) is False


@pytest.mark.parametrize("wrong", ["KD", 7, True, float("nan"), float("inf"), Decimal("NaN"), -1, object()])
def test_a_value_that_makes_no_sense_is_unknown(wrong: object) -> None:
    assert asked(KNOCKED_DOWN, construction=wrong) is None
    if wrong != 7:
        assert asked({"attr": "covering_thickness", "above": 0}, covering_thickness=wrong) is None


def test_half_a_leaf_is_unknown() -> None:
    assert asked({"attr": "leaves", "above": 1}, leaves=1.5) is None


def test_known_always_answers() -> None:
    assert asked({"attr": "rating_minutes", "known": True}) is False
    assert asked({"attr": "rating_minutes", "known": False}) is True
    assert asked({"attr": "rating_minutes", "known": True}, rating_minutes=0) is True


@pytest.mark.parametrize(
    "document",
    [
        KNOCKED_DOWN,
        {"attr": "hand", "in": ["LH", "LHR"]},
        {"attr": "rating_minutes", "above": 45},
        {"attr": "leaves", "known": False},
        {"all": [ELECTRIFIED, {"any": [KNOCKED_DOWN, {"not": {"attr": "leaves", "is": 2}}]}]},
    ],
)
def test_a_condition_is_written_as_it_was_read(document: dict[str, object]) -> None:
    assert write_condition(read_condition(document)) == document


@pytest.mark.parametrize(
    ("document", "said"),
    [
        ("electrified", "'electrified', expected"),
        ({"attr": "colour", "is": "red"}, "asks about 'colour', expected one of construction"),
        ({"attr": "construction", "is": "slip_on"}, "'slip_on', expected one of welded, knocked_down"),
        ({"attr": "construction", "above": 3}, "which is one of welded, knocked_down"),
        ({"attr": "leaves", "above": True}, "which is a whole number from 1 up"),
        ({"attr": "leaves", "in": []}, "'in': \\[\\]"),
        ({"attr": "leaves", "is": 1, "above": 0}, "expected"),
        ({"all": []}, "expected"),
        ({"not": ELECTRIFIED, "also": 1}, "expected"),
        ({"not": {"not": {"not": {"not": {"not": ELECTRIFIED}}}}}, "nested more than 5 deep"),
        ({"any": [ELECTRIFIED] * 13}, "asks 13 questions, expected at most 12"),
    ],
)
def test_a_condition_that_cannot_be_read_says_what_was_read_and_expected(document: object, said: str) -> None:
    with pytest.raises(ConditionError, match=said):
        read_condition(document)


@pytest.mark.parametrize(
    ("document", "possible"),
    [
        (ELECTRIFIED, True),
        ({"all": [ELECTRIFIED, {"not": ELECTRIFIED}]}, False),
        ({"all": [KNOCKED_DOWN, {"attr": "construction", "is": "welded"}]}, False),
        ({"all": [{"attr": "leaves", "above": 1}, {"not": {"attr": "leaves", "above": 2}}]}, True),
        ({"all": [{"attr": "leaves", "above": 1}, {"not": {"attr": "leaves", "above": 1}}]}, False),
        # No whole number lies strictly between 1 and 2, but a thickness does.
        ({"all": [{"attr": "leaves", "above": 1}, {"not": {"attr": "leaves", "in": [2]}},
                  {"not": {"attr": "leaves", "above": 2}}]}, False),
        ({"all": [{"attr": "covering_thickness", "above": 1}, {"not": {"attr": "covering_thickness", "is": 2}},
                  {"not": {"attr": "covering_thickness", "above": 2}}]}, True),
        ({"not": {"attr": "rating_minutes", "above": -1}}, False),
        ({"all": [{"attr": "hand", "known": False}, {"attr": "leaves", "is": 1}]}, True),
    ],
)  # fmt: skip
def test_a_condition_no_opening_can_meet_is_found_out(document: object, possible: bool) -> None:
    assert can_be_true(read_condition(document)) is possible
