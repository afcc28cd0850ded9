"""A look through an old XLS workbook before it is laid out in memory.

An XLS file is a compound file ([MS-CFB]: sectors chained by a table) that holds one stream of records ([MS-XLS]). A
file of five kilobytes can name the last of 65,536 x 256 cells, and a reader then lays out all of them. This pass walks
the records and only counts.
"""

import struct
from collections.abc import Iterator
from pathlib import Path

from django.utils.translation import gettext as _

from openings.intake.limits import SHEETS
from openings.intake.refusals import FileRefused
from openings.intake.sheet_scan import Extent, not_worked_out

HEADER_BYTES = 512
END_OF_CHAIN = 0xFFFFFFFE
LAST_SECTOR = 0xFFFFFFFA
NAMES = ("Workbook", "Book")
MACRO_NAMES = {"_VBA_PROJECT_CUR", "_VBA_PROJECT", "VBA"}

BOUND_SHEET, DIMENSIONS, FORMULA, END_OF_PART = 0x0085, 0x0200, 0x0006, 0x000A
MACRO_SHEET = 1
MOST_ROWS, MOST_COLUMNS = 65_536, 256
# Records that put one value in a cell: NUMBER, LABEL, BOOLERR, RK, LABELSST, RSTRING; and runs: MULRK.
ONE_CELL = {0x0203, 0x0204, 0x0205, 0x027E, 0x00FD, 0x00D6}
RUN_OF_CELLS = 0x00BD


def look_through(path: Path, name: str) -> dict[str, Extent]:
    """How far each sheet of the XLS file at `path` reaches; raises FileRefused for what should not be read further."""
    try:
        compound = _CompoundFile(path.read_bytes())
        entries = compound.entries()
        if any(entry in MACRO_NAMES for entry in entries):
            raise FileRefused(
                _("%(name)s holds macros. Save it as a plain .xlsx workbook, without macros.") % {"name": name}
            )
        stream = next((entries[entry] for entry in NAMES if entry in entries), None)
        if stream is None:
            raise FileRefused(
                _("%(name)s is an office document, but no workbook. Save the schedule as .xlsx.") % {"name": name}
            )
        return _extents(compound.read(*stream), name)
    except (struct.error, IndexError, ValueError) as broken:
        raise FileRefused(
            _("%(name)s is cut off or damaged and can't be read. Open it, save it as .xlsx and send that.")
            % {"name": name}
        ) from broken


class _CompoundFile:
    """Just enough of [MS-CFB] to list the directory and read one stream."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        shift, small_shift = struct.unpack_from("<HH", content, 30)
        if shift not in (9, 12) or small_shift != 6:
            raise ValueError("sector sizes no compound file has")
        self._size, self._small_size = 1 << shift, 1 << small_shift
        table_count, self._directory = struct.unpack_from("<II", content, 44)
        self._small_limit, self._small_table = struct.unpack_from("<II", content, 56)
        self._table = self._read_table(table_count)

    def entries(self) -> dict[str, tuple[int, int]]:
        """First sector and size of every entry of the directory, by name."""
        directory = self._chain(self._directory)
        found: dict[str, tuple[int, int]] = {}
        for at in range(0, len(directory), 128):
            length = struct.unpack_from("<H", directory, at + 64)[0]
            if not 2 <= length <= 64:
                continue
            entry = directory[at : at + length - 2].decode("utf-16-le")
            start, size = struct.unpack_from("<II", directory, at + 116)
            found.setdefault(entry, (start, size))
        self._root = found.get("Root Entry", (END_OF_CHAIN, 0))
        return found

    def read(self, start: int, size: int) -> bytes:
        """The bytes of one stream; small ones live in a stream of their own."""
        if size >= self._small_limit:
            stream = self._chain(start)
        else:
            table = self._words(self._chain(self._small_table))
            small = self._chain(self._root[0])
            step = self._small_size
            stream = b"".join(small[n * step : (n + 1) * step] for n in _follow(table, start))
        if len(stream) < size:
            raise ValueError("a stream is shorter than the directory says")
        return stream[:size]

    def _read_table(self, count: int) -> tuple[int, ...]:
        sectors = list(struct.unpack_from("<109I", self._content, 76))
        following, _count = struct.unpack_from("<II", self._content, 68)
        while following < LAST_SECTOR and len(sectors) < count + 109:
            more = self._words(self._sector(following))
            sectors += more[:-1]
            following = more[-1]
        return self._words(b"".join(self._sector(n) for n in sectors[:count] if n < LAST_SECTOR))

    def _chain(self, start: int) -> bytes:
        return b"".join(self._sector(n) for n in _follow(self._table, start))

    def _sector(self, n: int) -> bytes:
        at = max(HEADER_BYTES, self._size) + n * self._size
        if at >= len(self._content):
            raise ValueError("a sector lies behind the end of the file")
        return self._content[at : at + self._size]

    @staticmethod
    def _words(content: bytes) -> tuple[int, ...]:
        count = len(content) // 4
        return struct.unpack_from(f"<{count}I", content)


def _follow(table: tuple[int, ...], start: int) -> Iterator[int]:
    for _step in range(len(table)):
        if start >= LAST_SECTOR:
            return
        yield start
        start = table[start]
    if start < LAST_SECTOR:
        raise ValueError("a chain of sectors that runs in a circle")


def _records(stream: bytes, at: int) -> Iterator[tuple[int, int, int]]:
    """Yield kind, position and length of every record from `at` to the end of its part."""
    while at + 4 <= len(stream):
        kind, length = struct.unpack_from("<HH", stream, at)
        yield kind, at + 4, length
        if kind == END_OF_PART:
            return
        at += 4 + length


def _extents(stream: bytes, name: str) -> dict[str, Extent]:
    """Walk the parts as a reader does: the list of sheets first, then each from the place the list gives."""
    places: list[tuple[int, Extent]] = []
    for kind, at, _length in _records(stream, 0):
        if kind == BOUND_SHEET:
            place, _state, sheet_kind = struct.unpack_from("<IBB", stream, at)
            if sheet_kind == MACRO_SHEET:
                raise FileRefused(
                    _("%(name)s holds a macro sheet. Save it as a plain .xlsx workbook, without macros.")
                    % {"name": name}
                )
            places.append((place, Extent(_sheet_name(stream, at + 6))))
    if len(places) > SHEETS:
        raise FileRefused(
            _("%(name)s has %(n)d sheets; at most %(most)d are taken. Save the schedule alone.")
            % {"name": name, "n": len(places), "most": SHEETS}
        )
    for place, extent in places:
        for kind, at, length in _records(stream, place):
            _measure(extent, stream, kind, at, length)
    return {extent.sheet: extent for _place, extent in places}


def _measure(extent: Extent, stream: bytes, kind: int, at: int, length: int) -> None:
    if kind == DIMENSIONS and length >= 12:
        # A reader sets memory aside for what this record claims, before it has seen one cell.
        rows, columns = struct.unpack_from("<4xI2xH", stream, at)
        if rows > MOST_ROWS or columns > MOST_COLUMNS:
            raise ValueError("more rows or columns than the format has")
    elif kind in ONE_CELL or kind in (FORMULA, RUN_OF_CELLS):
        row, column = struct.unpack_from("<HH", stream, at)
        last = struct.unpack_from("<H", stream, at + length - 2)[0] if kind == RUN_OF_CELLS else column
        extent.reach(row + 1, last + 1)
        if kind == FORMULA and _is_empty_result(stream, at):
            extent.note(row + 1, column + 1, not_worked_out("…"))


def _is_empty_result(stream: bytes, at: int) -> bool:
    # [MS-XLS] 2.5.133 FormulaValue: fExprO 0xFFFF marks a result that is no number; its first byte 3 is "blank string".
    return stream[at + 12 : at + 14] == b"\xff\xff" and stream[at + 6] == 3


def _sheet_name(stream: bytes, at: int) -> str:
    count, wide = stream[at], stream[at + 1] & 1
    raw = stream[at + 2 : at + 2 + count * (2 if wide else 1)]
    return raw.decode("utf-16-le" if wide else "latin-1")
