"""Tables as text: CSV with whatever delimiter and encoding a spreadsheet program chose."""

import codecs
import csv
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

from django.utils.translation import gettext as _

from openings.intake.limits import CELL_CHARACTERS, COLUMNS, ROWS
from openings.intake.refusals import FileRefused
from openings.intake.sheet_scan import not_worked_out
from openings.intake.tables import Cell, Row, Table

SAMPLE_CHARACTERS = 64_000
DELIMITERS = (",", ";", "\t", "|")
MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
# A line longer than this is no row of a schedule; reading stops before it can fill the memory.
LINE_CHARACTERS = COLUMNS * CELL_CHARACTERS


def open_text_table(path: Path, name: str) -> Table:
    """The one table of a text file; raises FileRefused where it is no table or goes beyond the bounds."""
    encoding = _encoding(path, name)
    with path.open(encoding=encoding, errors="replace", newline="") as file:
        delimiter = _delimiter(file.read(SAMPLE_CHARACTERS), name)

    def rows() -> Iterator[Row]:
        with path.open(encoding=encoding, newline="") as file:
            yield from _rows(file, delimiter, name)

    return Table("", sum(1 for _ in rows()), rows)


def _encoding(path: Path, name: str) -> str:
    """UTF-8 or UTF-16 by mark, UTF-8 where all of it decodes, else the Western code page of spreadsheet programs."""
    with path.open("rb") as file:
        head = file.read(4)
        for mark, encoding in MARKS:
            if head.startswith(mark):
                return encoding
        file.seek(0)
        decoder = codecs.getincrementaldecoder("utf-8")()
        try:
            while chunk := file.read(1 << 20):
                if b"\x00" in chunk:
                    raise FileRefused(
                        _("%(name)s is not text, though its name says so. Export the schedule again as CSV.")
                        % {"name": name}
                    )
                decoder.decode(chunk)
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            return "cp1252"
    return "utf-8"


def _delimiter(sample: str, name: str) -> str:
    """The delimiter that splits the most lines of the sample into the same number of cells."""
    best, best_score = "", 0
    for delimiter in DELIMITERS:
        try:
            widths = [len(row) for row in csv.reader(sample.splitlines()[:200], delimiter=delimiter) if row]
        except csv.Error:
            continue
        wide = [width for width in widths if width > 1]
        score = max((wide.count(width) * min(width, 10) for width in set(wide)), default=0)
        if score > best_score:
            best, best_score = delimiter, score
    if not best:
        raise FileRefused(
            _("%(name)s has no columns: no comma, semicolon, tab or bar divides its lines. Export the schedule as CSV.")
            % {"name": name}
        )
    return best


def _rows(file: TextIO, delimiter: str, name: str) -> Iterator[Row]:
    reader = csv.reader(_lines(file, name), delimiter=delimiter, strict=False)
    try:
        for number, cells in enumerate(reader, start=1):
            if number > ROWS:
                raise FileRefused(
                    _("%(name)s has more than %(most)d rows, though most may be empty. Delete the empty rows and save.")
                    % {"name": name, "most": ROWS}
                )
            if len(cells) > COLUMNS and any(cells[COLUMNS:]):
                raise FileRefused(
                    _("%(name)s, row %(n)d: %(columns)d columns; at most %(most)d are taken.")
                    % {"name": name, "n": number, "columns": len(cells), "most": COLUMNS}
                )
            yield Row(number, tuple(_cell(cell) for cell in cells[:COLUMNS]))
    except (csv.Error, UnicodeError) as broken:
        raise FileRefused(
            _(
                "%(name)s can't be read as a table near line %(line)d. Look for a quotation mark that is never "
                "closed, or export it again as CSV in UTF-8."
            )
            % {"name": name, "line": reader.line_num}
        ) from broken


def _lines(file: TextIO, name: str) -> Iterator[str]:
    while line := file.readline(LINE_CHARACTERS + 1):
        if len(line) > LINE_CHARACTERS:
            raise FileRefused(
                _("%(name)s has a line of more than %(most)d characters. Export it again as CSV.")
                % {"name": name, "most": LINE_CHARACTERS}
            )
        yield line.replace("\0", "")


def _cell(text: str) -> Cell:
    if not text.startswith("="):
        return text
    # ="007" is how spreadsheet programs are told to leave a number's zeros alone; nothing is to be worked out in it.
    if len(text) >= 3 and text[1] == text[-1] == '"' and '"' not in text[2:-1]:
        return text[2:-1]
    return not_worked_out(text[1:])
