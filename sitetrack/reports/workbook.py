"""The status as a workbook, streamed row by row: a sheet a table, continued on another where a sheet is full."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from sitetrack.reports.cells import cut, sheet_name
from sitetrack.reports.charts import Spot, add_charts
from sitetrack.reports.showing import Shower, Shown
from sitetrack.reports.snapshot import Snapshot
from sitetrack.reports.tables import Column, Kind, Table

MOST_ROWS = 1_048_576  # of a sheet in Office Open XML spreadsheets
OPTIONS = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


@dataclass(frozen=True, slots=True)
class Looks:
    """How cells look: ruled like the title block of a shop drawing, and no meaning in colour alone."""

    title: Format
    fact: Format
    heading: Format
    total: Format
    by_kind: dict[Kind, Format]


def write_workbook(snapshot: Snapshot, path: Path, *, most_rows: int = MOST_ROWS) -> None:
    """Write the snapshot to `path`. The same snapshot gives the same cells, and nothing in it is ever run."""
    with xlsxwriter.Workbook(str(path), OPTIONS) as workbook:
        header = snapshot.header
        made = datetime.fromisoformat(str(header["cut_off"])).replace(tzinfo=None)
        workbook.set_properties({"title": f"{header['title']} {header['week']}", "created": made})
        writer = _Writer(workbook, snapshot, most_rows)
        for table in snapshot.tables:
            writer.write(table)
        add_charts(workbook, writer.first_sheet, writer.spots)


class _Writer:
    """Writes tables to one workbook."""

    def __init__(self, workbook: Workbook, snapshot: Snapshot, most_rows: int) -> None:
        self.workbook = workbook
        self.snapshot = snapshot
        self.most_rows = most_rows
        self.shower = Shower(snapshot.words, str(snapshot.header["time_zone"]))
        self.looks = _looks(workbook)
        self.names: set[str] = set()
        self.spots: dict[str, Spot] = {}
        self.first_sheet: Worksheet

    def write(self, table: Table) -> None:
        """Write a table: its headings, its rows, and the sums of what adds up."""
        part = 1
        sheet, head = self._sheet(table, part)
        at = head + 1
        sums: Counter[str] = Counter()
        for row in self.snapshot.rows(table):
            if at == self.most_rows:
                sheet.autofilter(head, 0, at - 1, len(table.columns) - 1)
                self.spots.setdefault(table.name, Spot(table, sheet.name, head + 1, at - 1))
                part += 1
                sheet, head = self._sheet(table, part)
                at = head + 1
            for place, column in enumerate(table.columns):
                self._cell(sheet, at, place, self.shower.show(column, row[column.key]), self.looks.by_kind[column.kind])
            sums.update({key: value for key in table.adds_up if isinstance(value := row[key], int)})
            at += 1
        self.spots.setdefault(table.name, Spot(table, sheet.name, head + 1, at - 1))
        if at > head + 1:
            sheet.autofilter(head, 0, at - 1, len(table.columns) - 1)
        if sums and at + 1 < self.most_rows:
            self._totals(sheet, at + 1, table, sums)

    def _sheet(self, table: Table, part: int) -> tuple[Worksheet, int]:
        """A new sheet with its headings; returns it and the row of the headings."""
        name = sheet_name(table.title, self.names, part)
        self.names.add(name.lower())
        sheet = self.workbook.add_worksheet(name)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        for place, column in enumerate(table.columns):
            sheet.set_column(place, place, column.width)
        head = 0
        if len(self.names) == 1:
            self.first_sheet, head = sheet, self._title_block(sheet)
        for place, column in enumerate(table.columns):
            self._cell(sheet, head, place, column.title, self.looks.heading)
        sheet.freeze_panes(head + 1, 0)
        sheet.repeat_rows(head)
        return sheet, head

    def _title_block(self, sheet: Worksheet) -> int:
        """What the status is of, above the summary; returns the row below it."""
        header = self.snapshot.header
        moment = Column("", "", Kind.MOMENT)
        first, last = (self.shower.show(moment, header[key]) for key in ("previous_cut_off", "cut_off"))
        lines = [
            " · ".join(
                str(part)
                for part in (
                    f"{header['title']} {header['week']}",
                    f"{header['name']} ({header['site']})",
                    header["company"],
                )
                if part
            ),
            f"{first:%Y-%m-%d %H:%M} – {last:%Y-%m-%d %H:%M} · {header['time_zone']}",
            *(str(header[key]) for key in ("standing", "counted", "basis") if header[key]),
        ]
        for row, line in enumerate(lines):
            self._cell(sheet, row, 0, line, self.looks.title if row == 0 else self.looks.fact)
        return len(lines) + 1

    def _totals(self, sheet: Worksheet, row: int, table: Table, sums: Counter[str]) -> None:
        for place, column in enumerate(table.columns):
            value: Shown = sums[column.key] if column.adds_up else None
            self._cell(sheet, row, place, "Σ" if place == 0 else value, self.looks.total)

    def _cell(self, sheet: Worksheet, row: int, place: int, value: Shown, looks: Format) -> None:
        if value is None:
            return
        if isinstance(value, str):
            sheet.write_string(row, place, cut(value), looks)  # never `write`, which guesses formulas and links
        elif isinstance(value, int | float):
            sheet.write_number(row, place, value, looks)
        else:
            naive = value.replace(tzinfo=None) if isinstance(value, datetime) else value
            sheet.write_datetime(row, place, naive, looks)


def _looks(workbook: Workbook) -> Looks:
    plain = {"valign": "top"}
    kinds = {
        Kind.MOMENT: {"num_format": "yyyy-mm-dd hh:mm"},
        Kind.DATE: {"num_format": "yyyy-mm-dd"},
        Kind.COUNT: {"num_format": "0"},
        Kind.NUMBER: {"num_format": "0.0000"},
    }
    return Looks(
        title=workbook.add_format({"bold": True, "font_size": 14}),
        fact=workbook.add_format(plain),
        heading=workbook.add_format({"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2}),
        total=workbook.add_format({"bold": True, "top": 1}),
        by_kind={kind: workbook.add_format(plain | kinds.get(kind, {})) for kind in Kind},
    )
