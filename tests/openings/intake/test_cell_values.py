"""What a cell means, and what is said of one that means nothing here."""

import datetime

import pytest

from openings.intake import values
from openings.intake.refusals import ReadingError
from openings.intake.units import proposed_unit


@pytest.mark.parametrize("cell", ["", "  ", "-", "—", "n/a", "N/A", "TBD", "?"])
def test_a_dash_is_not_told_and_not_a_no(cell: str) -> None:
    assert values.yes_or_no(cell) is None
    assert values.hand(cell) is None
    assert values.side(cell, "in") is None


@pytest.mark.parametrize(
    ("cell", "hand"),
    [
        ("LH", "LH"),
        ("rhr", "RHR"),
        ("L.H.R.", "LHR"),
        ("LF", None),
        ("Left Hand", "LH"),
        ("RHRA", "RHR"),
        ("mano izquierda", "LH"),
    ],
)
def test_hands(cell: str, hand: str | None) -> None:
    if hand is None:
        with pytest.raises(ReadingError, match="LH, RH, LHR or RHR"):
            values.hand(cell)
    else:
        assert values.hand(cell) == hand


@pytest.mark.parametrize(
    ("cell", "answer"),
    [("Y", True), ("x", True), ("Sí", True), (True, True), (1, True), ("EL", True), ("No", False), (0, False),
     (False, False)],
)  # fmt: skip
def test_yes_and_no(cell: object, answer: bool) -> None:
    assert values.yes_or_no(cell) is answer


def test_a_whole_number_of_a_spreadsheet_is_the_number_on_the_tag() -> None:
    assert values.opening_number(101.0, 40) == "101"


def test_a_number_the_spreadsheet_made_a_date_of_is_refused_with_the_mend() -> None:
    with pytest.raises(ReadingError) as refused:
        values.opening_number(datetime.date(2026, 1, 10), 40)
    assert "format the column as text" in refused.value.mend


@pytest.mark.parametrize(("cell", "unit"), [("915", "in"), (36, "mm"), (3, "in"), ("0.9", "in"), (2134, "ft")])
def test_a_size_in_another_unit_than_said_is_refused_and_the_unit_named(cell: object, unit: str) -> None:
    spoken = {"in": "inches", "mm": "millimeters", "ft": "feet"}
    with pytest.raises(ReadingError) as refused:
        values.side(cell, unit)
    assert f"read in {spoken[unit]} here" in refused.value.mend


@pytest.mark.parametrize(
    ("text", "inches"),
    [('3/4" tile', 0.75), ("sealed concrete", 0), ("1/8 in VCT", 0.125), ("Sealed Conc.", None), ("CPT-1", None)],
)
def test_a_covering_tells_its_thickness_or_it_stays_unknown(text: str, inches: float | None) -> None:
    thickness = values.covering_thickness(text)
    assert (None if thickness is None else float(thickness.inches)) == inches


@pytest.mark.parametrize(
    ("widths", "heights", "unit"),
    [
        (("915", "1830"), ("2134",), "mm"),
        (("36", "72"), ("84",), "in"),
        (("3", "6"), ("7",), "ft"),
        (("0.915",), ("2.134",), "m"),
        (("91.5",), ("213.4",), "cm"),
        (("3'-0\"",), ("7'-0\"",), None),
        (("36", "915"), ("84",), None),
    ],
)
def test_the_unit_of_bare_numbers_is_proposed_from_what_a_door_can_be(
    widths: tuple[str, ...], heights: tuple[str, ...], unit: str | None
) -> None:
    columns = {"width": "Width", "height": "Height"}
    assert proposed_unit(columns, {"Width": widths, "Height": heights}) == unit


def test_the_unit_is_proposed_from_a_size_in_one_cell_too() -> None:
    assert proposed_unit({"size": "Size"}, {"Size": ("915 x 2134", "1830 x 2134")}) == "mm"


@pytest.mark.parametrize("text", [".", "..", "B1/..", "./101", "101/takeoff", "A/../B"])
def test_a_number_that_no_address_can_hold_is_refused(text: str) -> None:
    """A browser takes dot segments out of an address before it asks (RFC 3986, 5.2.4)."""
    with pytest.raises(ReadingError) as refused:
        values.opening_number(text, 40)
    assert "address" in refused.value.mend


@pytest.mark.parametrize("text", ["101.1", "A..B", "B1/101", "...", "takeoff", "#1?"])
def test_a_number_with_dots_and_strokes_in_it_is_one(text: str) -> None:
    assert values.opening_number(text, 40) == text
