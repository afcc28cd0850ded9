"""A look through the XML of XLSX and ODS sheets before any of it is laid out in memory.

A sheet reader lays out the full rectangle up to the farthest cell; a file of a few kilobytes that puts one cell in the
last corner can so ask for gigabytes. This pass only counts: where the farthest cell is, how many rows are written, and
which cells hold a formula nobody has worked out. It also refuses document types, the door to entity tricks.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from xml.sax import SAXException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from defusedxml import DefusedXmlException
from defusedxml.expatreader import DefusedExpatParser
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake.limits import CELLS, COLUMNS, ROWS
from openings.intake.refusals import FileRefused
from openings.intake.tables import Unusable

MOST_NOTED = 10_000
VALUE_ATTRIBUTES = {
    "office:value",
    "office:string-value",
    "office:date-value",
    "office:time-value",
    "office:boolean-value",
}
WORK_OUT = gettext_lazy(
    "Open the file in the program it comes from, let it calculate, and save; or put the value in place of it."
)


@dataclass(slots=True)
class Extent:
    """How far one sheet reaches, and which of its cells hold no value that can be used (by row and column from 1)."""

    sheet: str
    rows: int = 0
    columns: int = 0
    written: int = 0
    unusable: dict[tuple[int, int], Unusable] = field(default_factory=dict)

    def write_rows(self, count: int) -> None:
        """Count rows that the file writes out, blank or not."""
        self.written += count
        if self.written > ROWS:
            raise FileRefused(
                _(
                    "Sheet “%(sheet)s” has more than %(most)s rows, though most may be empty. Delete the empty rows "
                    "below the schedule (select them whole and delete, not only clear) and save."
                )
                % {"sheet": self.sheet, "most": f"{ROWS:,}"}
            )

    def reach(self, row: int, column: int) -> None:
        """Take in that there is a filled cell at this row and column."""
        self.rows, self.columns = max(self.rows, row), max(self.columns, column)
        if self.rows > ROWS or self.columns > COLUMNS or self.rows * self.columns > CELLS:
            raise FileRefused(
                _(
                    "Sheet “%(sheet)s” has a cell in row %(row)s, column %(column)s, beyond what is taken: %(rows)s "
                    "rows, %(columns)s columns, %(cells)s cells. Delete what lies far outside the schedule and save."
                )
                % {
                    "sheet": self.sheet,
                    "row": f"{row:,}",
                    "column": f"{column:,}",
                    "rows": f"{ROWS:,}",
                    "columns": COLUMNS,
                    "cells": f"{CELLS:,}",
                }
            )

    def note(self, row: int, column: int, unusable: Unusable) -> None:
        """Remember a cell that can't be used."""
        if len(self.unusable) >= MOST_NOTED:
            raise FileRefused(
                _(
                    "Sheet “%(sheet)s” has more than %(most)s cells with errors or with formulas nobody has worked "
                    "out. %(mend)s"
                )
                % {"sheet": self.sheet, "most": f"{MOST_NOTED:,}", "mend": WORK_OUT}
            )
        self.unusable[row, column] = unusable


def not_worked_out(formula: str) -> Unusable:
    """A formula without the value it last gave."""
    return Unusable(f"={formula[:80]}", _("a value, not a formula that was never worked out"), str(WORK_OUT))


def error_value(text: str) -> Unusable:
    """A formula that went wrong in the spreadsheet program."""
    return Unusable(
        text[:80], _("a value, not an error of the spreadsheet"), _("Mend the formula, or put the value there.")
    )


class ExcelSheetHandler(ContentHandler):
    """Counts through one worksheet part of an XLSX workbook (ECMA-376, SpreadsheetML worksheets)."""

    def __init__(self, extent: Extent) -> None:
        super().__init__()
        self.extent = extent
        self._row = self._column = 0
        self._type = ""
        self._formula: list[str] | None = None
        self._value: list[str] = []
        self._into: list[str] | None = None

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - the interface of SAX
        match name.rpartition(":")[2]:
            case "row":
                self._row = int(attrs.get("r") or self._row + 1)
                self._column = 0
                self.extent.write_rows(1)
            case "c":
                self._column = _column_of(attrs["r"]) if "r" in attrs else self._column + 1
                self._type = attrs.get("t", "")
                self._formula, self._value = None, []
            case "f":
                self._formula = self._into = []
            case "v" | "t":
                self._into = self._value

    def characters(self, content: str) -> None:
        if self._into is not None:
            self._into.append(content)

    def endElement(self, name: str) -> None:  # noqa: N802 - the interface of SAX
        local = name.rpartition(":")[2]
        if local in ("f", "v", "t"):
            self._into = None
        elif local == "c":
            self._close_cell()

    def _close_cell(self) -> None:
        if self._formula is not None and not self._value and self._type != "str":
            self.extent.note(self._row, self._column, not_worked_out("".join(self._formula)))
        elif self._type == "e":
            self.extent.note(self._row, self._column, error_value("".join(self._value)))
        if self._value or self._formula is not None:
            self.extent.reach(self._row, self._column)


class OpenDocumentHandler(ContentHandler):
    """Counts through the content part of an ODS workbook (OpenDocument 1.2, part 1, chapter 9)."""

    def __init__(self) -> None:
        super().__init__()
        self.extents: list[Extent] = []
        self._row = self._column = 0
        self._rows_alike = self._cells_alike = 1
        self._attributes: dict[str, str] = {}
        self._text: list[str] = []
        self._filled: list[tuple[int, int]] = []
        self._in_cell = False

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - the interface of SAX
        match name:
            case "table:table":
                self.extents.append(Extent(attrs.get("table:name", "")))
                self._row = 0
            case "table:table-row":
                self._rows_alike = _times(attrs, "table:number-rows-repeated")
                self._column, self._filled = 0, []
            case "table:table-cell" | "table:covered-table-cell":
                self._cells_alike = _times(attrs, "table:number-columns-repeated")
                self._attributes, self._text, self._in_cell = dict(attrs.items()), [], True

    def characters(self, content: str) -> None:
        if self._in_cell and content.strip():
            self._text.append(content)

    def endElement(self, name: str) -> None:  # noqa: N802 - the interface of SAX
        if name in ("table:table-cell", "table:covered-table-cell"):
            self._close_cell()
        elif name == "table:table-row" and self.extents:
            self._close_row()

    def _close_cell(self) -> None:
        self._in_cell = False
        attributes = self._attributes
        formula = attributes.get("table:formula")
        has_value = bool(self._text) or not VALUE_ATTRIBUTES.isdisjoint(attributes)
        if self.extents and (has_value or formula is not None):
            self._filled.append((self._column + 1, self._column + self._cells_alike))
            if attributes.get("calcext:value-type") == "error":
                self.extents[-1].note(self._row + 1, self._column + 1, error_value("".join(self._text)))
            elif not has_value:
                self.extents[-1].note(self._row + 1, self._column + 1, not_worked_out(formula or ""))
        self._column += self._cells_alike

    def _close_row(self) -> None:
        extent = self.extents[-1]
        # Programs end a sheet with one row element that stands for all the empty rows to the last possible one;
        # only rows written out one by one, or repeated with something in them, count.
        extent.write_rows(self._rows_alike if self._filled else 1)
        for _first, last in self._filled:
            extent.reach(self._row + self._rows_alike, last)
        self._row += self._rows_alike


class BoundedXml:
    """An XML reader fed piece by piece, that refuses document types and hands problems back in words."""

    def __init__(self, handler: ContentHandler, file_name: str, part: str) -> None:
        self._parser = DefusedExpatParser(forbid_dtd=True)
        self._parser.setContentHandler(handler)
        self._file_name, self._part = file_name, part

    def feed(self, chunks: Iterable[bytes]) -> Iterable[bytes]:
        """Read the chunks and pass each on, so that they can be copied in the same go."""
        try:
            for chunk in chunks:
                self._parser.feed(chunk)
                yield chunk
            self._parser.close()
        except DefusedXmlException as trick:
            raise FileRefused(
                _(
                    "%(name)s declares a document type or entities inside (%(part)s), which a workbook never needs. "
                    "It may have been tampered with; export the schedule again."
                )
                % {"name": self._file_name, "part": self._part}
            ) from trick
        except (SAXException, ValueError, KeyError) as broken:
            raise FileRefused(
                _("%(name)s is damaged inside (%(part)s). Open it, save it again and send that.")
                % {"name": self._file_name, "part": self._part}
            ) from broken


def _times(attrs: AttributesImpl, name: str) -> int:
    times = int(attrs.get(name) or 1)
    if times < 1:
        raise ValueError(f"{name} is {times}")
    return times


_columns: dict[str, int] = {}


def _column_of(reference: str) -> int:
    letters = reference.rstrip("0123456789")
    column = _columns.get(letters)
    if column is None:
        if not 1 <= len(letters) <= 3 or not letters.isascii() or not letters.isalpha():
            raise ValueError(f"{reference!r} is no cell reference")
        column = 0
        for letter in letters.upper():
            column = column * 26 + ord(letter) - 64
        _columns[letters] = column
    return column
