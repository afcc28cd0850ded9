"""Files as schedules come in, written by libraries this project does not read them with."""

import csv
import zipfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import openpyxl
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

Rows = Iterable[Sequence[Any]]
PLAIN = (
    ["Door No.", "Level", "Width", "Height", "Hdwr Set", "Fire Rating", "Hand"],
    ["101A", "1", "3'-0\"", "7'-0\"", "HW-1", "90 MIN", "RH"],
    ["102", "1", "3'-0\"", "7'-0\"", "HW-2", "NR", "LHR"],
    ["201", "2", "PR 3'-0\"", "8'-0\"", "HW-3", "", ""],
)


def xlsx(path: Path, rows: Rows, *, merged: Sequence[str] = (), title: str = "Schedule") -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    for cells in merged:
        sheet.merge_cells(cells)
    book.save(path)
    return path


def xls(path: Path, rows: Rows) -> Path:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Schedule")
    for number, row in enumerate(rows):
        for column, value in enumerate(row):
            if value not in ("", None):
                sheet.write(number, column, value)
    book.save(str(path))
    return path


def ods(path: Path, rows: Rows) -> Path:
    book = OpenDocumentSpreadsheet()
    table = Table(name="Schedule")
    for row in rows:
        line = TableRow()
        for value in row:
            cell = TableCell(valuetype="string") if value not in ("", None) else TableCell()
            if value not in ("", None):
                cell.addElement(P(text=str(value)))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    book.save(str(path))
    return path


def csv_file(path: Path, rows: Rows, *, delimiter: str = ",", encoding: str = "utf-8") -> Path:
    with path.open("w", encoding=encoding, newline="") as file:
        csv.writer(file, delimiter=delimiter).writerows(rows)
    return path


def replaced_part(path: Path, part: str, content: bytes) -> Path:
    """The archive with one part's content put in place of what it held."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = content
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, held in parts.items():
            archive.writestr(name, held)
    return path
