"""What a table of the status is: its columns, what each holds, and which of them add up. Pure.

A row is a mapping from column key to a plain value that JSON can hold. How a value is shown belongs to whoever writes
a file; what it means is said here once.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

Plain = str | int | float | bool | None
Row = Mapping[str, Plain]


class Kind(StrEnum):
    """What a column holds; every kind may also hold None, for unknown or not applicable."""

    TEXT = "text"
    WORD = "word"  # a code; the status carries the word for it in the site's language
    COUNT = "count"
    NUMBER = "number"
    FLAG = "flag"
    MOMENT = "moment"  # RFC 3339 in UTC; shown on the site's clock
    DATE = "date"  # ISO 8601


@dataclass(frozen=True, slots=True)
class Column:
    """One column. `words` names the vocabulary of a WORD; `adds_up`: its figures sum to those of the whole site."""

    key: str
    title: Any
    kind: Kind = Kind.TEXT
    words: str = ""
    adds_up: bool = False
    width: int = 14


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its name in files, its title, its columns."""

    name: str
    title: Any
    columns: tuple[Column, ...]

    @property
    def adds_up(self) -> tuple[str, ...]:
        """The keys of the columns whose figures sum to those of the whole site."""
        return tuple(column.key for column in self.columns if column.adds_up)


def text(key: str, title: Any, width: int = 14) -> Column:
    """A column of text as it was given."""
    return Column(key, title, width=width)


def word(key: str, title: Any, words: str, width: int = 14) -> Column:
    """A column of codes with a word for each."""
    return Column(key, title, Kind.WORD, words, width=width)


def count(key: str, title: Any, *, adds_up: bool = False) -> Column:
    """A column of whole numbers."""
    return Column(key, title, Kind.COUNT, adds_up=adds_up, width=11)


def flag(key: str, title: Any) -> Column:
    """A column of yes and no."""
    return Column(key, title, Kind.FLAG, "flag", width=12)


def moment(key: str, title: Any) -> Column:
    """A column of moments."""
    return Column(key, title, Kind.MOMENT, width=17)


def day(key: str, title: Any) -> Column:
    """A column of days."""
    return Column(key, title, Kind.DATE, width=11)


def number(key: str, title: Any) -> Column:
    """A column of numbers with a fraction."""
    return Column(key, title, Kind.NUMBER, width=12)
