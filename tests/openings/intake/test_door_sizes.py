"""Sizes as schedules write them, held against pint's inches and millimetres."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from openings.intake.door_sizes import parse_door_size, parse_door_width, side_length
from openings.intake.refusals import ReadingError

UNITS = pint.UnitRegistry()


def in_mm(value: float, unit: str) -> float:
    return UNITS.Quantity(value, unit).to("mm").magnitude


@pytest.mark.parametrize(
    ("text", "width", "height", "leaves"),
    [
        ("3'-0\" x 7'-0\"", 36, 84, None),
        ("3070", 36, 84, None),
        ("2868", 32, 80, None),
        ("3-0 x 7-0", 36, 84, None),
        ("3' 0'' X 7' 2''", 36, 86, None),
        ("3'-0\"W x 7'-0\"H", 36, 84, None),
        ("3'-0 1/2\" × 8'-0\"", 36.5, 96, None),
        ('3\'-0" x 7\'-0" x 1 3/4"', 36, 84, None),
        ("36 x 84", 36, 84, None),
        ("PR 3-0 x 7-0", 72, 84, 2),
        ("PR3070", 72, 84, 2),
        ("(2) 3'-0\" x 7'-0\"", 72, 84, 2),
        ("PAIR 3'-0\" x 7'-0\"", 72, 84, 2),
        ("3'-0\" x 7'-0\" PR", 72, 84, 2),
        ("6070 PR", 72, 84, 2),
        ("2 x 3'-0\" x 7'-0\"", 72, 84, 2),
    ],
)
def test_the_trades_ways_to_write_a_size(text: str, width: float, height: float, leaves: int | None) -> None:
    size = parse_door_size(text)
    assert (float(size.width.mm), float(size.height.mm)) == pytest.approx((in_mm(width, "in"), in_mm(height, "in")))
    assert size.leaves == leaves


@pytest.mark.parametrize(
    "text", ["915 x 2134 mm", "915x2134mm", "0915 x 2134mm", "915 mm x 2134 mm", "91.5 x 213.4 cm"]
)
def test_a_unit_behind_the_second_figure_holds_for_both(text: str) -> None:
    size = parse_door_size(text)
    assert (size.width.mm, size.height.mm) == (915, 2134)


def test_a_pair_says_how_it_was_read() -> None:
    assert "two leaves" in parse_door_size("PR 3070").note
    assert "opening" in parse_door_size("PR 6070").note


def test_a_pair_in_the_width_column_alone() -> None:
    read = [parse_door_width(text) for text in ("PR 3'-0\"", "3'-0\"", "PR 6-0")]
    assert [(float(width.inches), leaves) for width, leaves in read] == [(72, 2), (36, None), (72, 2)]


@pytest.mark.parametrize(
    "text", ["", "26610", "3-0", "x 7-0", "2-13 x 7-0", "door", "3'-0\" x", "1 x 2 x 3 x 4", "9" * 10_000]
)
def test_what_is_no_size_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ReadingError) as refused:
        parse_door_size(text)
    assert refused.value.expected


@given(feet=st.integers(1, 9), inches=st.integers(0, 11))
def test_feet_dash_inches_is_feet_and_inches(feet: int, inches: int) -> None:
    assert side_length(f"{feet}-{inches}").inches == 12 * feet + inches


@given(st.text(max_size=60))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        size = parse_door_size(text)
    except ReadingError:
        return
    assert size.leaves in (None, 2)
