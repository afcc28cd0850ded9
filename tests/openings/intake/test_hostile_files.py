"""Files made to fill the memory, run something or mislead are refused in words, and cheaply."""

import random
import struct
import tracemalloc
import zipfile
from contextlib import suppress
from pathlib import Path

import openpyxl
import pytest
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from openings.intake.limits import ROWS, UNPACKED_BYTES
from openings.intake.refusals import FileRefused, RowRefused
from openings.intake.sources import opened_source
from sitetrack.kit.problems import Problem
from tests.openings.intake import sheets

SHEET = "xl/worksheets/sheet1.xml"


def refusal(path: Path) -> str:
    """The sentence with which the file is refused."""
    with pytest.raises(FileRefused) as caught, opened_source(path, path.name) as source:
        list(source.readings(source.choices().proposed))
    return caught.value.detail


def test_a_zip_bomb_is_refused_by_its_directory(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/big.xml", "w") as part:
        for _ in range(UNPACKED_BYTES // 10_000_000 + 1):
            part.write(bytes(10_000_000))
    assert path.stat().st_size < 2_000_000
    tracemalloc.start()
    assert "would unpack to" in refusal(path)
    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()


def test_a_zip_bomb_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    sheets.replaced_part(path, SHEET, b"<worksheet>" + b" " * 30_000_000)
    content = bytearray(path.read_bytes())
    for signature, size_at in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = content.find(signature)
        while at >= 0:
            name_at = at + (46 if signature == b"PK\x01\x02" else 30)
            if content[name_at : name_at + len(SHEET)] == SHEET.encode():
                content[at + size_at : at + size_at + 4] = struct.pack("<I", 1000)
            at = content.find(signature, at + 4)
    path.write_bytes(content)
    assert "damaged inside" in refusal(path)


def test_one_cell_in_the_last_corner_is_refused_before_the_sheet_is_laid_out(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"], book.active["XFD1048576"] = "Door No.", "x"
    book.save(tmp_path / "doors.xlsx")
    assert "row 1,048,576, column 16,384" in refusal(tmp_path / "doors.xlsx")


def test_the_last_cell_of_an_old_workbook_is_refused_too(tmp_path: Path) -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Schedule")
    sheet.write(0, 0, "Door No.")
    sheet.write(65535, 255, "x")
    book.save(str(tmp_path / "doors.xls"))
    assert "row 65,536, column 256" in refusal(tmp_path / "doors.xls")


def test_a_filled_row_repeated_a_million_times_is_refused(tmp_path: Path) -> None:
    book, table = OpenDocumentSpreadsheet(), Table(name="Schedule")
    row = TableRow(numberrowsrepeated=1_000_000)
    cell = TableCell(valuetype="string")
    cell.addElement(P(text="101"))
    row.addElement(cell)
    table.addElement(row)
    book.spreadsheet.addElement(table)
    book.save(str(tmp_path / "doors.ods"))
    assert f"more than {ROWS:,} rows" in refusal(tmp_path / "doors.ods")


def test_the_empty_rest_of_a_sheet_written_as_one_row_is_no_fault(tmp_path: Path) -> None:
    path = sheets.ods(tmp_path / "doors.ods", sheets.PLAIN)
    with zipfile.ZipFile(path) as archive:
        content = archive.read("content.xml")
    rest = b'<table:table-row table:number-rows-repeated="1048000"><table:table-cell/></table:table-row></table:table>'
    sheets.replaced_part(path, "content.xml", content.replace(b"</table:table>", rest))
    with opened_source(path, path.name) as source:
        assert len(list(source.readings(source.choices().proposed))) == 3


def test_a_million_empty_rows_are_refused(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    with zipfile.ZipFile(path) as archive:
        content = archive.read(SHEET)
    empty = b"".join(b'<row r="%d"/>' % n for n in range(5, 1_000_005))
    sheets.replaced_part(path, SHEET, content.replace(b"</sheetData>", empty + b"</sheetData>"))
    assert "Delete the empty rows" in refusal(path)


def test_a_million_empty_lines_are_refused(tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", sheets.PLAIN)
    with path.open("a") as file:
        file.write(",,,,,,\n" * 1_000_000)
    assert "Delete the empty rows" in refusal(path)


def test_a_document_type_with_entities_is_refused(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    trick = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]><worksheet><sheetData>&a;</sheetData></worksheet>'
    sheets.replaced_part(path, SHEET, trick)
    assert "document type" in refusal(path)


def test_a_part_named_twice_is_refused(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    with zipfile.ZipFile(path, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr(SHEET, b"<worksheet/>")
    assert "one of its parts twice" in refusal(path)


def test_macros_in_an_old_workbook_are_refused(tmp_path: Path) -> None:
    path = sheets.xls(tmp_path / "doors.xls", sheets.PLAIN)
    # A compound file's directory names its storages in UTF-16; the second summary stream gives its place to one.
    content, name = path.read_bytes(), "Workbook".encode("utf-16-le")
    at = content.find(name)
    macro = "_VBA_PROJECT".encode("utf-16-le")
    entry = bytearray(content[at : at + 128])
    entry[: len(macro)], entry[64:66] = macro, struct.pack("<H", len(macro) + 2)
    free = at + 128 if content[at + 128 + 64 : at + 128 + 66] == b"\x00\x00" else at + 256
    path.write_bytes(content[:free] + bytes(entry) + content[free + 128 :])
    assert "macros" in refusal(path)


@pytest.mark.parametrize(
    ("name", "write"), [("doors.xlsx", sheets.xlsx), ("doors.ods", sheets.ods), ("doors.xls", sheets.xls)]
)
@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
def test_a_cut_off_workbook_is_refused(tmp_path: Path, name: str, write, share: float) -> None:
    path = write(tmp_path / name, sheets.PLAIN * 50)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    assert "cut off or damaged" in refusal(path)


def test_a_line_without_end_is_refused(tmp_path: Path) -> None:
    (tmp_path / "doors.csv").write_text("Door No.,Width\n" + "9" * 2_000_000)
    assert "line of more than" in refusal(tmp_path / "doors.csv") or "can't be read as a table" in refusal(
        tmp_path / "doors.csv"
    )


def refused_rows(path: Path) -> list[RowRefused]:
    with opened_source(path, path.name) as source:
        return [row for row in source.readings(source.choices().proposed) if isinstance(row, RowRefused)]


def test_a_formula_nobody_worked_out_refuses_its_row(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", [*sheets.PLAIN, ["202", "2", "=C2", "7'-0\"", "", "", ""]])
    (row,) = refused_rows(path)
    assert (row.row, row.column, row.read) == (5, "Width", "=C2")
    assert "let it calculate" in row.mend


def test_formulas_in_the_last_column_that_nobody_worked_out_are_not_taken_for_blanks(tmp_path: Path) -> None:
    rows = [["Door No.", "Width", "Hand"], ["101", "3'-0\"", "=A1"], ["102", "3'-0\"", "=A1"]]
    assert [row.column for row in refused_rows(sheets.xlsx(tmp_path / "doors.xlsx", rows))] == ["Hand", "Hand"]


def test_a_formula_in_a_text_table_is_never_run_nor_taken(tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", [*sheets.PLAIN, ["=1+1", "2", "3'-0\"", "7'-0\"", "", "", ""]])
    (row,) = refused_rows(path)
    assert row.column == "Door No."
    assert "not a formula" in row.expected


def test_a_number_held_as_text_by_a_formula_is_read(tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", [*sheets.PLAIN, ['="007"', "2", "3'-0\"", "7'-0\"", "", "", ""]])
    with opened_source(path, path.name) as source:
        *_, last = source.readings(source.choices().proposed)
    assert last.number == "007"


def test_an_old_workbook_that_claims_more_cells_than_there_can_be_is_refused(tmp_path: Path) -> None:
    # [MS-XLS] 2.4.90 Dimensions: first row, row after the last, first column, column after the last.
    path = sheets.xls(tmp_path / "doors.xls", sheets.PLAIN)
    content = bytearray(path.read_bytes())
    struct.pack_into("<IIHH", content, content.find(b"\x00\x02\x0e\x00") + 4, 0, 16_000_000, 0, 60_000)
    path.write_bytes(content)
    assert "cut off or damaged" in refusal(path)


@pytest.mark.parametrize("name", ["doors.xls", "doors.xlsx", "doors.ods", "doors.csv"])
def test_no_damage_of_a_few_bytes_ends_in_anything_but_words(tmp_path: Path, name: str) -> None:
    write = {"xls": sheets.xls, "xlsx": sheets.xlsx, "ods": sheets.ods, "csv": sheets.csv_file}[name.partition(".")[2]]
    path = write(tmp_path / name, sheets.PLAIN * 5)
    whole = path.read_bytes()
    chance = random.Random(861)
    for _ in range(60):
        content = bytearray(whole)
        for _ in range(chance.choice((1, 3, 8))):
            content[chance.randrange(len(content))] = chance.randrange(256)
        path.write_bytes(content)
        with suppress(Problem), opened_source(path, name) as source:
            list(source.readings(source.choices().proposed))
