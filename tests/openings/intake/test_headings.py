"""Headings as schedules have them: titles above, stacked rows, merged cells, other languages."""

from pathlib import Path

import pytest

from openings.intake.headings import find_headings, propose_columns, unit_in
from openings.intake.kinds import Kind
from openings.intake.refusals import FileRefused
from openings.intake.sources import opened_source
from openings.intake.tables import Row, Table
from openings.intake.workbooks import Workbook
from tests.openings.intake import sheets


def table(*rows: list[str]) -> Table:
    numbered = [Row(number, tuple(row)) for number, row in enumerate(rows, start=1)]
    return Table("Schedule", len(rows), lambda: iter(numbered))


def test_a_title_above_the_headings_is_passed_over() -> None:
    found = find_headings(table(["DOOR SCHEDULE"], [""], ["Door No.", "Width", "Height"], ["101", "3'-0\"", "7'-0\""]))
    assert found.names == ("Door No.", "Width", "Height")
    assert found.last_row == 3


def test_three_stacked_rows_are_one_heading() -> None:
    found = find_headings(
        table(
            ["DOOR AND FRAME SCHEDULE", "", "", "", "", "", ""],
            ["OPENING", "OPENING", "", "FRAME", "", "", "HARDWARE"],
            ["", "SIZE", "", "", "", "", ""],
            ["NUMBER", "WIDTH", "HEIGHT", "TYPE", "DEPTH", "MATERIAL", "SET"],
            ["101", "3'-0\"", "7'-0\"", "F1", '5 3/4"', "HM", "4"],
        )
    )
    assert found.last_row == 4
    proposed = propose_columns(found.names)
    assert {"number", "width", "height", "mark", "jamb_depth", "hardware_set"} <= set(proposed)
    assert "FRAME TYPE" in proposed["mark"]


def test_merged_heading_cells_are_read_from_a_real_workbook(tmp_path: Path) -> None:
    rows = [
        ["DOOR SCHEDULE", "", "", "", ""],
        ["DOOR", "", "", "FRAME", ""],
        ["NO.", "WIDTH", "HEIGHT", "TYPE", "MATL"],
        ["101", "3'-0\"", "7'-0\"", "F2", "HM"],
    ]
    path = sheets.xlsx(tmp_path / "doors.xlsx", rows, merged=("A1:E1", "A2:C2", "D2:E2"))
    with Workbook(path, Kind.XLSX, path.name) as book:
        found = find_headings(book.tables()[0])
    assert found.names == ("DOOR NO.", "DOOR WIDTH", "DOOR HEIGHT", "FRAME TYPE", "FRAME MATL")


def test_headings_said_twice_stay_two_columns() -> None:
    found = find_headings(table(["Door", "Type", "Width", "Type"], ["101", "D1", "36", "F1"]))
    assert found.names == ("Door", "Type", "Width", "Type (2)")


@pytest.mark.parametrize(
    ("heading", "fact"),
    [
        ("Door Numbers", "number"), ("MARK", "number"), ("Opening #", "number"), ("No. de puerta", "number"),
        ("HwSet#", "hardware_set"), ("Hdwr Set", "hardware_set"), ("HDW. GROUP", "hardware_set"),
        ("Herrajes", "hardware_set"),
        ("Fire Rtg.", "rating"), ("LABEL", "rating"), ("Resistencia al fuego", "rating"),
        ("Frame Type", "mark"), ("Throat", "jamb_depth"), ("Jamb Depth", "jamb_depth"), ("Wall Type", "wall"),
        ("HAND", "hand"), ("Mano", "hand"), ("Level", "floor"), ("Nivel", "floor"), ("Building", "building"),
        ("From Room", "room_from"), ("To Room", "room_to"), ("Electrified", "electrified"), ("EL", "electrified"),
        ("Finish Floor", "covering"), ("Ancho", "width"), ("Alto", "height"), ("Width (mm)", "width"),
        ("Remarks", "remarks"),
        ("Door Size", "size"), ("W x H", "size"),
    ],
)  # fmt: skip
def test_the_trades_words_are_known(heading: str, fact: str) -> None:
    assert propose_columns([heading]) == {fact: heading}


@pytest.mark.parametrize(
    "heading", ["Door Finish", "Glass", "Door Material", "Thickness", "Head Detail", "Keying", "Color"]
)
def test_columns_of_the_leaf_are_left_alone(heading: str) -> None:
    assert propose_columns([heading]) == {}


def test_width_and_height_are_preferred_to_a_size_in_one_cell() -> None:
    assert set(propose_columns(["Door No.", "Size", "Width", "Height"])) == {"number", "width", "height"}


@pytest.mark.parametrize(
    ("heading", "unit"), [("Width (mm)", "mm"), ("Height, in.", "in"), ("Width", None), ("Room", None)]
)
def test_a_unit_in_the_heading_is_read(heading: str, unit: str | None) -> None:
    assert unit_in(heading) == unit


def test_a_table_without_headings_is_refused_with_an_example() -> None:
    with pytest.raises(FileRefused, match=r"Door No\., Width, Height"):
        find_headings(table(["a letter"], ["of words"], ["101", "36"]))


def test_headings_in_words_nobody_taught_are_left_to_a_person() -> None:
    found = find_headings(table(["Türliste"], ["Tür", "Breite", "Höhe"], ["101", "915", "2134"]))
    assert found.names == ("Tür", "Breite", "Höhe")
    assert propose_columns(found.names) == {}


def test_the_sheet_that_is_a_door_schedule_is_proposed(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "Cover"
    book.active.append(["Number", "Level", "Rating"])
    doors = book.create_sheet("Door Schedule")
    for row in sheets.PLAIN:
        doors.append(list(row))
    book.save(tmp_path / "doors.xlsx")
    with opened_source(tmp_path / "doors.xlsx", "doors.xlsx") as source:
        assert source.choices().proposed.sheet == "Door Schedule"


@pytest.mark.parametrize("heading", ["Frame Mat'l", "Frame Mat’l"])
def test_an_apostrophe_within_a_word_parts_nothing(heading: str) -> None:
    assert propose_columns(["Door No.", heading])["frame_material"] == heading
