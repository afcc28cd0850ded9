"""Rows kept on disk while a status is made, so that ten thousand openings take no more memory than a hundred."""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from sitetrack.reports.cells import clean
from sitetrack.reports.edition import Wanted
from sitetrack.reports.tables import Plain, Row, Table


class Spool:
    """One file a table, a row a line. Rows are added first and read after; every text is made writable on the way.

    Where `wanted` is given, rows it does not want are left out, whatever their table.
    """

    def __init__(self, folder: Path, tables: Iterable[Table], wanted: Wanted | None = None) -> None:
        self._wanted = wanted
        self._columns = {table.name: tuple(column.key for column in table.columns) for table in tables}
        self._paths = {name: folder / f"{name}.rows" for name in self._columns}
        self._open: dict[str, IO[str]] = {}
        self.counts = dict.fromkeys(self._columns, 0)

    def __enter__(self) -> Self:
        self._open = {name: path.open("w", encoding="utf-8") for name, path in self._paths.items()}
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        for file in self._open.values():
            file.close()

    def add(self, name: str, row: Row) -> None:
        """Keep a row; it must have the table's columns, neither more nor fewer."""
        if self._wanted and not self._wanted(name, row):
            return
        columns = self._columns[name]
        if row.keys() != set(columns):
            raise KeyError(f"{name}: {sorted(row.keys() ^ set(columns))}")
        values = [_writable(row[key]) for key in columns]
        self._open[name].write(json.dumps(values, ensure_ascii=False, separators=(",", ":")) + "\n")
        self.counts[name] += 1

    def add_all(self, name: str, rows: Iterable[Row]) -> None:
        """Keep rows as they come."""
        for row in rows:
            self.add(name, row)

    def rows(self, name: str) -> Iterator[dict[str, Plain]]:
        """The rows of a table in the order they were added."""
        columns = self._columns[name]
        with self._paths[name].open(encoding="utf-8") as lines:
            for line in lines:
                yield dict(zip(columns, json.loads(line), strict=True))


def _writable(value: Plain) -> Plain:
    if isinstance(value, str):
        return clean(value) or None  # an empty text and an unknown one look alike in every file
    return value
