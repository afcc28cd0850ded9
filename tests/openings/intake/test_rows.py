"""Rows of a schedule: openings, refusals with row and column, and what is passed over."""

from pathlib import Path

import pytest

from openings.intake.readings import NotOurs, PassedOver
from openings.intake.refusals import RowRefused
from openings.intake.settled import Settled, read_settled
from openings.intake.sources import opened_source
from openings.selectors.facts import ListedOpening
from sitetrack.kit.problems import BadInput
from tests.openings.intake import sheets

HEADINGS = ["Door No.", "Width", "Height", "Hand", "Fire Rating", "Wall Type", "Electrified", "Finish"]


def read(path: Path, **changes: object) -> list[object]:
    with opened_source(path, path.name) as source:
        proposed = source.choices().proposed.to_dict()
        return list(source.readings(read_settled({**proposed, **changes})))


def rows_of(tmp_path: Path, *rows: list[str], headings: list[str] = HEADINGS, **changes: object) -> list[object]:
    return read(sheets.csv_file(tmp_path / "doors.csv", [headings, *rows]), **changes)


@pytest.mark.parametrize("write", [sheets.csv_file, sheets.xlsx, sheets.xls, sheets.ods])
def test_the_same_schedule_reads_the_same_in_every_kind_of_file(tmp_path: Path, write) -> None:
    endings = {sheets.csv_file: "csv", sheets.xlsx: "xlsx", sheets.xls: "xls", sheets.ods: "ods"}
    openings = read(write(tmp_path / f"doors.{endings[write]}", sheets.PLAIN))
    assert [
        (
            opening.number,
            float(opening.told["width"].inches),
            opening.told["hardware_set"],
            opening.told["rating_minutes"],
        )
        for opening in openings
    ] == [("101A", 36, "HW-1", 90), ("102", 36, "HW-2", 0), ("201", 72, "HW-3", None)]
    assert openings[2].told["leaves"] == 2


@pytest.mark.parametrize(
    ("delimiter", "encoding"), [(";", "utf-8-sig"), ("\t", "utf-16"), ("|", "cp1252"), (",", "utf-8")]
)
def test_delimiter_and_encoding_are_found_out(tmp_path: Path, delimiter: str, encoding: str) -> None:
    rows = [["Puerta", "Ancho", "Alto", "Herrajes"], ["101", "3'-0\"", "7'-0\"", "acción"]]
    (opening,) = read(sheets.csv_file(tmp_path / "doors.csv", rows, delimiter=delimiter, encoding=encoding))
    assert opening.told["hardware_set"] == "acción"


def test_a_refused_row_names_row_column_what_was_read_and_the_mend(tmp_path: Path) -> None:
    first, second = rows_of(
        tmp_path, ["", "3'-0\"", "7'-0\"", "LH", "", "", "", ""], ["9" * 41, "3'-0\"", "7'-0\"", "", "", "", "", ""]
    )
    assert isinstance(first, RowRefused)
    assert (first.row, first.column, first.read) == (2, "Door No.", "")
    assert "an opening number" in str(first)
    assert isinstance(second, RowRefused)
    assert (second.row, second.column) == (3, "Door No.")
    assert "at most 40 characters" in str(second)


def test_words_and_sizes_nobody_knows_stay_unknown_with_a_doubt_and_the_row_is_taken(tmp_path: Path) -> None:
    first, second = rows_of(
        tmp_path, ["101", "3'-0\"", "7'-0\"", "LF", "", "", "", ""], ["102", "3'-13\"", "7'-0\"", "", "", "", "", ""]
    )
    assert isinstance(first, ListedOpening)
    assert "hand" not in first.told  # not even as blank: a blank may take back what was known
    assert first.told["width"].inches == 36
    (doubt,) = first.warnings
    assert "hand: “LF” was read, expected: LH, RH, LHR or RHR" in doubt
    assert isinstance(second, ListedOpening)
    assert "width" not in second.told
    assert "less than 12 inches" in second.warnings[0]


@pytest.mark.parametrize(
    ("width", "height", "read", "doubted"),
    [
        # The trade's four-figure code: feet and inches of the width, then of the height (usage of the trade).
        ("3068", "", (36, 80), False),
        ("3068", "6'-8\"", (36, 80), False),
        ("3068", "7'-0\"", (36, 84), True),
        ("2868", "80", (32, 80), False),
        ("PR 3070", "", (72, 84), False),
    ],
)
def test_a_size_code_among_the_widths_tells_both_sides(
    tmp_path: Path, width: str, height: str, read: tuple[int, int], doubted: bool
) -> None:
    (opening,) = rows_of(tmp_path, ["101", width, height, "", "", "", "", ""], unit="in")
    assert isinstance(opening, ListedOpening)
    assert (opening.told["width"].inches, opening.told["height"].inches) == read
    assert any("the height was taken" in warning for warning in opening.warnings) is doubted


def test_the_same_figures_are_a_width_where_millimetres_are_read(tmp_path: Path) -> None:
    (opening,) = rows_of(tmp_path, ["101", "3068", "2134", "", "", "", "", ""], unit="mm")
    assert (opening.told["width"].mm, opening.told["height"].mm) == (3068, 2134)


def test_a_frame_not_of_steel_is_a_question_until_a_person_settles_it(tmp_path: Path) -> None:
    headings = ["Door No.", "Width", "Frame Material", "Frame Type"]
    rows = [
        ["101", "3'-0\"", "AL", "F1"], ["102", "3'-0\"", "HM", "F1"], ["103", "3'-0\"", "", "ALUM-2"],
        ["104", "3'-0\"", "Galv. Stl", "F1"], ["105", "3'-0\"", "Wood", "F1"],
    ]  # fmt: skip
    found = rows_of(tmp_path, *rows, headings=headings)
    asked = {one.opening.number: (one.group, one.reason) for one in found if isinstance(one, NotOurs)}
    assert asked == {
        "101": ("Frame Material: AL", "not a steel frame by its material"),
        "103": ("ALUM-2", "an aluminum frame by its type"),
        "105": ("Frame Material: Wood", "not a steel frame by its material"),
    }
    assert {one.number for one in found if isinstance(one, ListedOpening)} == {"102", "104"}
    settled = rows_of(tmp_path, *rows, headings=headings, ours=["Frame Material: AL"], not_ours=["Frame Material: HM"])
    assert {one.number for one in settled if isinstance(one, ListedOpening)} == {"101", "104"}


def test_unknown_stays_unknown_and_is_not_guessed(tmp_path: Path) -> None:
    (opening,) = rows_of(tmp_path, ["101", "3'-0\"", "7'-0\"", "", "--FIRE_CODE--", "", "", ""])
    assert opening.told["hand"] is None
    assert opening.told["rating_minutes"] is None
    assert opening.told["rating_text"] == "--FIRE_CODE--"
    assert opening.told["electrified"] is None
    assert opening.wall is None


def test_columns_without_a_fact_are_kept_as_they_came(tmp_path: Path) -> None:
    (opening,) = rows_of(tmp_path, ["101", "3'-0\"", "7'-0\"", "", "", "", "", "Paint 2"])
    assert opening.extra == {"Finish": "Paint 2"}


def test_notes_titles_and_repeated_headings_are_passed_over_and_said(tmp_path: Path) -> None:
    rows = rows_of(
        tmp_path,
        ["101", "3'-0\"", "7'-0\"", "", "", "", "", ""],
        HEADINGS,
        ["LEVEL 2", "", "", "", "", "", "", ""],
        ["201", "3'-0\"", "7'-0\"", "", "", "", "", ""],
        ["", "", "", "", "", "", "", ""],
        ["NOTES:", "", "", "", "", "", "", ""],
        ["1. All frames to be 16 gauge, see specification.", "", "", "", "", "", "", ""],
    )
    assert [type(row) for row in rows] == [ListedOpening, PassedOver, PassedOver, ListedOpening, PassedOver, PassedOver]
    assert rows[0].floor == ""
    assert rows[3].floor == "LEVEL 2"


def test_a_row_of_facts_without_a_number_is_refused_and_not_passed_over(tmp_path: Path) -> None:
    (row,) = rows_of(tmp_path, ["", "3'-0\"", "7'-0\"", "RH", "", "", "", ""])
    assert isinstance(row, RowRefused)
    assert row.column == "Door No."


def test_a_single_leaf_wider_than_high_is_warned_of(tmp_path: Path) -> None:
    swapped, pair = rows_of(
        tmp_path, ["101", "7'-0\"", "3'-0\"", "", "", "", "", ""], ["102", "PR 4'-0\"", "7'-0\"", "", "", "", "", ""]
    )
    assert "swapped" in swapped.warnings[0]
    assert not pair.warnings


@pytest.mark.parametrize(
    ("wall", "kind"),
    [("8\" CMU", "masonry"), ("3 5/8\" metal stud, GWB", "steel_stud"), ("wood stud", "wood_stud"),
     ("Existing", "existing"), ("P1", ""), ("Brick on metal stud", "")],
)  # fmt: skip
def test_a_walls_kind_is_read_only_where_its_name_tells(tmp_path: Path, wall: str, kind: str) -> None:
    (opening,) = rows_of(tmp_path, ["101", "3'-0\"", "7'-0\"", "", "", wall, "", ""])
    assert (opening.wall.code, opening.wall.kind) == (wall, kind)


def test_metric_numbers_are_read_in_the_unit_settled(tmp_path: Path) -> None:
    (opening,) = rows_of(tmp_path, ["101", "915", "2134", "", "", "", "", ""], unit="mm")
    assert (opening.told["width"].mm, opening.told["height"].mm) == (915, 2134)


def test_a_mapping_to_a_column_that_is_not_there_names_those_that_are(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="“Finish”"):
        rows_of(tmp_path, ["101", "", "", "", "", "", "", ""], columns={"number": "Tag"})


@pytest.mark.parametrize(
    "wrong",
    [{"columns": {"colour": "Door No."}}, {"unit": "furlong"}, {"defaults": {"number": "1"}}, {"columns": ["Door No."]},
     {"sheet": "x" * 500}],
)  # fmt: skip
def test_what_cannot_be_settled_is_refused_by_name(wrong: dict[str, object]) -> None:
    with pytest.raises(BadInput) as refused:
        read_settled(wrong)
    assert refused.value.errors[0].field.startswith(next(iter(wrong)))


def test_what_was_settled_survives_storing() -> None:
    settled = Settled(
        "Doors", {"number": "No."}, {"electrified": "no"}, "mm", "Mark", frozenset({"a"}), frozenset({"b"}), True, True
    )
    assert read_settled(settled.to_dict()) == settled


def test_a_pair_written_where_its_hand_should_be_tells_two_leaves(tmp_path: Path) -> None:
    (pair,) = rows_of(tmp_path, ["101", "6'-0\"", "7'-0\"", "PR", "", "", "", ""])
    assert (pair.told["leaves"], pair.told["hand"]) == (2, None)
    assert not any("PR" in doubt for doubt in pair.warnings)


def test_a_column_of_leaves_has_the_last_word(tmp_path: Path) -> None:
    (door,) = rows_of(
        tmp_path, ["101", "3'-0\"", "7'-0\"", "PR", "1"], headings=["Door No.", "Width", "Height", "Hand", "Leaves"]
    )
    assert door.told["leaves"] == 1
