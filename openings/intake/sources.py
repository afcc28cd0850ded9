"""Opening a schedule, whatever kind of file it came in."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from openings.intake.cobie import CobieSource, is_cobie
from openings.intake.delimited import open_text_table
from openings.intake.headings import Headings, find_headings, names_doors, remembered_or_proposed
from openings.intake.kinds import Kind, kind_of
from openings.intake.model_doors import model_doors
from openings.intake.model_source import ModelSource
from openings.intake.readings import Choices, Reading, Source
from openings.intake.refusals import FileRefused
from openings.intake.settled import Settled, read_settled
from openings.intake.step_file import opened_model
from openings.intake.tables import Table, is_blank, text_of
from openings.intake.tabular import RowReader
from openings.intake.units import proposed_unit
from openings.intake.workbooks import Workbook
from sitetrack.kit.lengths import Unit

SAMPLES = 5
SAMPLED_ROWS = 200


@contextmanager
def opened_source(path: Path, name: str, *, unit: Unit = "in") -> Iterator[Source]:
    """Open the file at `path` that came under `name`; raises FileRefused with what is wrong and the mend.

    `unit` is the site's own for numbers without a mark, where nothing in the file points to another.
    """
    kind = kind_of(path, name)
    if kind in (Kind.MODEL, Kind.MODEL_ZIP):
        with opened_model(path, kind, name) as model:
            doors = list(model_doors(model))
        if not doors:
            raise FileRefused(
                _("%(name)s is a building model without a single door. Export it with the doors in it.")
                % {"name": name}
            )
        yield ModelSource(doors)
    elif kind is Kind.TEXT:
        yield TableSource([open_text_table(path, name)], kind.words, unit)
    else:
        with Workbook(path, kind, name) as workbook:
            tables = workbook.tables()
            yield CobieSource(tables, name) if is_cobie(tables) else TableSource(tables, kind.words, unit)


class TableSource:
    """One or more sheets with headings; one of them is the schedule."""

    def __init__(self, tables: Sequence[Table], words: str, unit: Unit) -> None:
        self.words = words
        self._unit = unit
        self._tables = {table.name: table for table in tables}
        self._found: dict[str, Headings] = {}
        self._schedule = self._likeliest()
        self.total = self._tables[self._schedule].height

    def choices(self, remembered: Mapping[str, Any] | None = None, *, sheet: str = "") -> Choices:
        """The columns proposed from the headings, or as settled before for the same headings."""
        sheet = sheet if sheet in self._tables else self._schedule
        headings = self._headings(sheet)
        before = read_settled(remembered) if remembered else None
        columns = remembered_or_proposed(headings.names, before.columns if before else {})
        samples = self._samples(sheet, headings)
        unit = before.unit if before else proposed_unit(columns, samples) or self._unit
        return Choices(
            Settled(
                sheet=sheet,
                columns=columns,
                defaults=before.defaults if before else {},
                unit=unit,
                blank_clears=bool(before and before.blank_clears),
            ),
            headings=tuple(name for name in headings.names if name),
            samples=samples,
            sheets=tuple(self._tables),
            headings_digest=headings.digest,
        )

    def digest(self, *, sheet: str = "") -> str:
        """The headings of the sheet, digested."""
        return self._headings(sheet if sheet in self._tables else self._schedule).digest

    def readings(self, settled: Settled) -> Iterator[Reading]:
        """Read the settled sheet row by row."""
        sheet = settled.sheet if settled.sheet in self._tables else self._schedule
        self.total = self._tables[sheet].height
        return RowReader(self._tables[sheet], self._headings(sheet), settled).readings()

    def _headings(self, sheet: str) -> Headings:
        if sheet not in self._found:
            self._found[sheet] = find_headings(self._tables[sheet])
        return self._found[sheet]

    def _likeliest(self) -> str:
        """The sheet that speaks of doors in its headings, one named so first; else the first that has headings."""
        by_name = sorted(self._tables, key=lambda name: not any(word in name.lower() for word in ("door", "opening")))
        fault = FileRefused(_("The file has no row that is not empty. Expected a door schedule."))
        possible = []
        for name in by_name:
            if self._tables[name].height == 0:
                continue
            try:
                if names_doors(self._headings(name)):
                    return name
                possible.append(name)
            except FileRefused as refused:
                fault = refused
        if not possible:
            raise fault
        return possible[0]

    def _samples(self, sheet: str, headings: Headings) -> dict[str, tuple[str, ...]]:
        """A few different values of each column, to settle the mapping by."""
        found: dict[str, list[str]] = {name: [] for name in headings.names if name}
        for row in islice(self._tables[sheet].rows(), headings.last_row, headings.last_row + SAMPLED_ROWS):
            for name, cell in zip(headings.names, row.cells, strict=False):
                if name and not is_blank(cell) and len(found[name]) < SAMPLES and text_of(cell) not in found[name]:
                    found[name].append(text_of(cell)[:60])
        return {name: tuple(texts) for name, texts in found.items()}


__all__ = ["Reading", "Source", "TableSource", "opened_source"]
