"""The status as a workbook, streamed row by row: a sheet a table, continued on another where a sheet is full."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from textwrap import wrap

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from sitetrack.reports.cells import cut, sheet_name
from sitetrack.reports.charts import Spot, add_charts
from sitetrack.reports.showing import Shower, Shown
from sitetrack.reports.snapshot import Snapshot
from sitetrack.reports.tables import Column, Kind, Table

# How it prints: a page as wide as this is read without a glass; a wider table goes on to the next page, its first
# columns with it. In characters, as the widths of columns are. Chosen here by looking at prints.
READABLE_WIDTH = 190
REPEATED = 3  # columns: the opening, its building, its floor
HEADING_HEIGHT, FACT_HEIGHT = 45, 32  # points: three lines, two lines
FACTS_ACROSS = 6  # columns of the summary that its words may run over, left of the charts
PAPERS = {"metric": 9, "imperial": 1}  # A4 and Letter, by the numbers of the file format
# Words stand a little off a number that ends where they begin, and break instead of running into the next cell.
WORDS_IN_CELL: dict[str, object] = {"text_wrap": True, "align": "left", "indent": 1}
LINE_HEIGHT, MOST_LINES = 15, 12  # points; a note longer than that is read in its cell
ALIGNED_RIGHT = {Kind.COUNT, Kind.NUMBER, Kind.MOMENT, Kind.DATE}
MOST_ROWS = 1_048_576  # of a sheet in Office Open XML spreadsheets
OPTIONS = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


@dataclass(frozen=True, slots=True)
class Looks:
    """How cells look: ruled like the title block of a shop drawing, and no meaning in colour alone."""

    title: Format
    fact: Format
    heading: Format
    heading_right: Format
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
            shown = [self.shower.show(column, row[column.key]) for column in table.columns]
            lines = _lines(table, shown)
            if lines > 1:
                sheet.set_row(at, LINE_HEIGHT * lines)  # a streamed row has no height of its own accord
            for place, column in enumerate(table.columns):
                self._cell(sheet, at, place, shown[place], self.looks.by_kind[column.kind])
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
        self._print_set_up(sheet, table)
        for place, column in enumerate(table.columns):
            sheet.set_column(place, place, column.width)
        head = 0
        if len(self.names) == 1:
            self.first_sheet, head = sheet, self._title_block(sheet)
        sheet.set_row(head, HEADING_HEIGHT)
        for place, column in enumerate(table.columns):
            looks = self.looks.heading_right if column.kind in ALIGNED_RIGHT else self.looks.heading
            self._cell(sheet, head, place, column.title, looks)
        sheet.freeze_panes(head + 1, 1 if _is_wide(table) else 0)
        sheet.repeat_rows(head)
        return sheet, head

    def _print_set_up(self, sheet: Worksheet, table: Table) -> None:
        """Landscape, as many pages wide as it takes to be read, each with the headings, the job and its number."""
        header = self.snapshot.header
        sheet.set_landscape()
        sheet.set_paper(PAPERS.get(str(header["units"]), PAPERS["imperial"]))
        sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.6)
        sheet.fit_to_pages(max(1, round(_width(table) / READABLE_WIDTH)), 0)
        if _is_wide(table):
            sheet.repeat_columns(0, REPEATED - 1)
        # An & begins a field in headers and footers; doubled, it is itself.
        said = f"{header['name']} ({header['site']}) {header['week']}".replace("&", "&&")
        sheet.set_footer(f"&L{cut(said, 120)}&C&A&R&P / &N")

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
            if row < 2:
                self._cell(sheet, row, 0, line, self.looks.title if row == 0 else self.looks.by_kind[Kind.MOMENT])
            else:
                sheet.set_row(row, FACT_HEIGHT)
                sheet.merge_range(row, 0, row, FACTS_ACROSS - 1, "", self.looks.fact)
                self._cell(sheet, row, 0, line, self.looks.fact)
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


def _lines(table: Table, shown: Sequence[Shown]) -> int:
    """How many lines its longest text takes in its column, as near as a count of characters tells."""
    most = 1
    for column, value in zip(table.columns, shown, strict=True):
        if isinstance(value, str) and (len(value) >= column.width or "\n" in value):
            parts = value[: MOST_LINES * column.width].split("\n")
            most = max(most, sum(max(len(wrap(part, column.width - 1)), 1) for part in parts))
    return min(most, MOST_LINES)


def _width(table: Table) -> int:
    return sum(column.width for column in table.columns)


def _is_wide(table: Table) -> bool:
    """Whether it is too wide to be read on one page, and begins with what an opening is."""
    return _width(table) > READABLE_WIDTH and table.columns[0].key == "opening"


def _looks(workbook: Workbook) -> Looks:
    plain: dict[str, object] = {"valign": "top"}
    heading: dict[str, object] = {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2}
    kinds: dict[Kind, dict[str, object]] = {
        Kind.MOMENT: {"num_format": "yyyy-mm-dd hh:mm"},
        Kind.DATE: {"num_format": "yyyy-mm-dd"},
        Kind.TEXT: WORDS_IN_CELL,
        Kind.WORD: WORDS_IN_CELL,
        Kind.FLAG: WORDS_IN_CELL,
        Kind.COUNT: {"num_format": "0"},
        Kind.NUMBER: {"num_format": "0.0000"},
    }
    return Looks(
        title=workbook.add_format({"bold": True, "font_size": 14}),
        fact=workbook.add_format(plain | {"text_wrap": True}),
        heading=workbook.add_format(heading | {"align": "left", "indent": 1}),
        heading_right=workbook.add_format(heading | {"align": "right"}),
        total=workbook.add_format({"bold": True, "top": 1}),
        by_kind={kind: workbook.add_format(plain | kinds.get(kind, {})) for kind in Kind},
    )
