"""Raw tables: what every kind of spreadsheet file is turned into before anything is understood."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from openings.intake.limits import CELL_CHARACTERS


@dataclass(frozen=True, slots=True)
class Unusable:
    """A cell that holds something, but no value that can be read; says why and how to mend it."""

    read: str
    expected: str
    mend: str


Plain = str | int | float | bool | date | datetime | time | timedelta
Cell = Plain | Unusable


class Row(NamedTuple):
    """One row; `number` as the spreadsheet program shows it, from 1."""

    number: int
    cells: tuple[Cell, ...]

    @property
    def is_blank(self) -> bool:
        """Whether nothing is written in the row."""
        return all(is_blank(cell) for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet. `rows` may be called again and again; each call reads from the top, blank rows included."""

    name: str
    height: int
    rows: Callable[[], Iterator[Row]]


def is_blank(cell: Cell) -> bool:
    """Whether nothing but space is written in the cell."""
    return isinstance(cell, str) and not cell.strip()


def text_of(cell: Cell) -> str:
    """What the cell shows, as one line: 101.0 is 101, whatever space there is becomes single blanks."""
    if isinstance(cell, Unusable):
        return cell.read
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    return " ".join(str(cell)[: CELL_CHARACTERS + 1].split())
