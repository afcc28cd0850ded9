"""Lengths as a crew writes them, against the inch's definition, the fractions module and the pint library."""

import time
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitetrack.kit.lengths import (
    INCH,
    LONGEST_TEXT,
    MM,
    Length,
    LengthError,
    format_length,
    from_inches,
    from_mm,
    length_json,
    parse_length,
    parse_length_between,
)

UNITS: Any = pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("36 1/16", Fraction(577, 16)),
        ("36-1/16", Fraction(577, 16)),
        ('36 1/16"', Fraction(577, 16)),
        ("36 1/16 in", Fraction(577, 16)),
        ("36.0625", Fraction(577, 16)),
        ("3'-0 1/16\"", Fraction(577, 16)),
        ("3' 0 1/16", Fraction(577, 16)),
        ("3' 0\"", Fraction(36)),
        ("3'0", Fraction(36)),
        ("3'", Fraction(36)),
        ("3 ft", Fraction(36)),
        ("2'-6 1/2\"", Fraction(61, 2)),
        ("2’–6½″", Fraction(61, 2)),
        ("6′-2″", Fraction(74)),
        ("6'-2''", Fraction(74)),
        ("½", Fraction(1, 2)),
        ("1⁄16", Fraction(1, 16)),
        ("-1/16", Fraction(-1, 16)),
        ("− 1/16", Fraction(-1, 16)),
        ("+1/16", Fraction(1, 16)),
        ("5/4", Fraction(5, 4)),
        (" 0 ", Fraction(0)),
        (".5", Fraction(1, 2)),
    ],
)
def test_feet_and_inches_read_as_a_crew_writes_them(text: str, inches: Fraction) -> None:
    assert parse_length(text).inches == inches


@pytest.mark.parametrize(("text", "mm"), [("917 mm", 917), ("91.7 cm", 917), ("0.917 m", 917), ("1.6mm", "8/5")])
def test_metric_text_reads_to_the_same_length(text: str, mm: int | str) -> None:
    assert parse_length(text).mm == Fraction(mm)


def test_bare_number_takes_the_unit_asked_for() -> None:
    assert parse_length("917", unit="mm") == parse_length(917, unit="mm") == parse_length("917 mm")
    assert parse_length("3", unit="ft") == parse_length("36")
    assert parse_length("36 in", unit="mm") == parse_length("36")


@pytest.mark.parametrize(
    ("bad", "code"),
    [
        ("", "length-unreadable"),
        ("   ", "length-unreadable"),
        ("nan", "length-unreadable"),
        ("inf", "length-unreadable"),
        ("1/0", "length-unreadable"),
        ("36 1/3", "length-unreadable"),
        ("36 1/128", "length-unreadable"),
        ("36 17/16", "length-unreadable"),
        ("36.5 1/2", "length-unreadable"),
        ("3'-0 13/12", "length-unreadable"),
        ("3'-13\"", "length-unreadable"),
        ("3'-12", "length-unreadable"),
        ("3.5'-2", "length-unreadable"),
        ("3'-", "length-unreadable"),
        ("3-0", "length-unreadable"),
        ("36 -1/16", "length-unreadable"),
        ("--1", "length-unreadable"),
        ("-", "length-unreadable"),
        ("36 in 5 mm", "length-unreadable"),
        ("3' 20 mm", "length-unreadable"),
        ("917 mm 1/2", "length-unreadable"),
        ("1,000 mm", "length-unreadable"),
        ("1e3", "length-unreadable"),
        ("٣٦", "length-unreadable"),
        ("36; drop", "length-unreadable"),
        ("9" * 39, "length-out-of-range"),
        ("1001 m", "length-out-of-range"),
        ("9" * (LONGEST_TEXT + 1), "length-too-long-text"),
        (float("nan"), "length-out-of-range"),
        (float("inf"), "length-out-of-range"),
        pytest.param(10**5000, "length-out-of-range", id="5001 digits"),
        (True, "length-unreadable"),
        (None, "length-unreadable"),
        ([36], "length-unreadable"),
    ],
)
def test_what_is_no_length_is_refused_with_what_was_expected(bad: Any, code: str) -> None:
    with pytest.raises(LengthError) as caught:
        parse_length(bad)
    assert caught.value.code == code
    assert caught.value.expected
    assert len(str(caught.value)) < 250
    assert str(caught.value).endswith(".")


def test_bare_fraction_is_refused_where_numbers_are_metric() -> None:
    with pytest.raises(LengthError, match="inch mark"):
        parse_length("36 1/16", unit="mm")
    assert parse_length('36 1/16"', unit="mm") == parse_length("36 1/16")


def test_ten_megabytes_of_digits_cost_nothing() -> None:
    digits = "9" * 10_000_000
    before = time.perf_counter()
    with pytest.raises(LengthError) as caught:
        parse_length(digits)
    assert time.perf_counter() - before < 0.05
    assert len(str(caught.value)) < 250


@pytest.mark.parametrize(
    ("text", "code"),
    [("0", "length-not-positive"), ("-84", "length-not-positive"), ("7 mm", "length-out-of-range")],
)
def test_size_outside_its_bounds_says_which_way(text: str, code: str) -> None:
    with pytest.raises(LengthError) as caught:
        parse_length_between(text, least=INCH * 24, most=INCH * 240)
    assert caught.value.code == code


def test_size_at_its_bounds_is_accepted() -> None:
    assert parse_length_between("24", least=INCH * 24, most=INCH * 240) == INCH * 24
    assert parse_length_between("20'", least=INCH * 24, most=INCH * 240) == INCH * 240


@pytest.mark.parametrize(
    ("inches", "feet", "written"),
    [
        (Fraction(577, 16), False, '36 1/16"'),
        (Fraction(1, 8), False, '1/8"'),
        (Fraction(-1, 16), False, '-1/16"'),
        (Fraction(0), False, '0"'),
        (Fraction(-1, 1000), False, '0"'),
        (Fraction(577, 16), True, "3'-0 1/16\""),
        (Fraction(61, 2), True, "2'-6 1/2\""),
        (Fraction(1, 64), False, '1/32"'),
        (Fraction(-1, 64), False, '-1/32"'),
        (Fraction(767, 64), True, "1'-0\""),
    ],
)
def test_imperial_lengths_are_written_to_the_32nd_half_away_from_zero(
    inches: Fraction, feet: bool, written: str
) -> None:
    assert format_length(from_inches(inches), units="imperial", feet=feet) == written


@pytest.mark.parametrize(
    ("text", "written"),
    [("917 mm", "917 mm"), ("1/16", "1.6 mm"), ("-1/16", "-1.6 mm"), ("0", "0 mm"), ("-0.04 mm", "0 mm")],
)
def test_metric_lengths_are_written_to_the_tenth(text: str, written: str) -> None:
    assert format_length(parse_length(text), units="metric") == written


@given(st.integers(min_value=-64 * 400, max_value=64 * 400), st.booleans())
def test_sixty_fourths_survive_the_round_trip(parts: int, feet: bool) -> None:
    length = from_inches(Fraction(parts, 64))
    assert length.inches == Fraction(parts, 64)
    assert parse_length(format_length(length, units="imperial", denominator=64, feet=feet)) == length


@given(st.integers(min_value=-100_000, max_value=100_000))
def test_tenths_of_a_millimetre_survive_the_round_trip(tenths: int) -> None:
    length = from_mm(Fraction(tenths, 10))
    assert parse_length(format_length(length, units="metric")) == length


@pytest.mark.parametrize(
    ("ours", "theirs"), [("in", "inch"), ("ft", "foot"), ("mm", "millimeter"), ("cm", "centimeter"), ("m", "meter")]
)
@given(hundredths=st.integers(min_value=-10_000, max_value=10_000))
def test_units_convert_as_pint_converts_them(ours: Any, theirs: str, hundredths: int) -> None:
    # pint is a general units library with its own definitions file; exact here because it is given fractions.
    amount = Fraction(hundredths, 100)
    expected = UNITS.Quantity(amount, theirs).to("nanometer").magnitude
    assert parse_length(f"{hundredths / 100:.2f}", unit=ours).nm == round(Fraction(expected))


@given(st.integers(min_value=-(10**12), max_value=10**12), st.integers(min_value=-(10**12), max_value=10**12))
def test_arithmetic_is_that_of_exact_fractions(first: int, second: int) -> None:
    one, two = Length(first), Length(second)
    assert (one + two).inches == one.inches + two.inches
    assert (one - two).mm == one.mm - two.mm
    assert (-one).nm == -first
    assert abs(one).mm == abs(one.mm)
    assert (one * 3).mm == (3 * one).mm == 3 * one.mm
    assert (one < two) == (one.mm < two.mm)
    assert bool(one) == (first != 0)


def test_answer_shape_carries_text_inches_and_millimetres() -> None:
    assert length_json(parse_length("36 1/16")) == {"text": '36 1/16"', "in": 36.0625, "mm": 915.9875}
    assert length_json(MM * 917, units="metric")["text"] == "917 mm"


@given(st.text(max_size=60))
def test_any_text_gives_a_length_or_a_length_error(text: str) -> None:
    try:
        length = parse_length(text)
    except LengthError:
        return
    assert any(character.isdigit() or character in "½¼¾⅛⅜⅝⅞" for character in text)
    assert isinstance(length.nm, int)
