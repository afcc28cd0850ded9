"""What the weekly workbook of a large site costs, beside XlsxWriter writing the same cells from memory."""

import tempfile
import tracemalloc
from collections.abc import Callable, Iterator
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import xlsxwriter
from python_calamine import CalamineWorkbook

from sitetrack.demo.bench.figures import MS, Figure, milliseconds
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.demo.bench.worked_sites import WorkedSite, worked_site
from sitetrack.kit.clock import now
from sitetrack.reports.making import Format, make_status
from sitetrack.reports.snapshot import Snapshot, clock_of, take_snapshot
from sitetrack.reports.workbook import OPTIONS, write_workbook

OPENINGS, SAMPLES = 10_000, 3
PART = 10  # peaks are shown of a site so many times smaller as well
BYTES_OF_A_MB = 1_000_000
BARE = "the same cells from memory, XlsxWriter alone"
Sheets = dict[str, list[list[Any]]]


def measure_report(*, quick: bool) -> list[Figure]:
    """The status of the week that runs, as XLSX; its rows worked out first, or done already."""
    openings, samples = (20, 1) if quick else (OPENINGS, SAMPLES)
    with shared_database(), tempfile.TemporaryDirectory() as folder:
        small = worked_site(max(openings // PART, 1), "bench-small")
        return list(report_of(worked_site(openings), small, Path(folder), samples))


def report_of(large: WorkedSite, small: WorkedSite, folder: Path, samples: int) -> Iterator[Figure]:
    """Times are of the large site; peaks are of memory that Python asked for, taken in runs of their own."""
    path = made(large, folder)
    sheets = cells_of(path)
    count = sum(len(row) for rows in sheets.values() for row in rows)
    openings = large.site.openings.count()
    yield _in_ms(BARE, partial(write_bare, sheets, folder / "bare.xlsx"), samples)
    rows = folder / "rows"
    rows.mkdir()
    written = partial(write_workbook, snapshot_of(large, rows), folder / "again.xlsx")
    yield _in_ms(f"workbook of {count} cells, its rows worked out before", written, samples, of=BARE)
    whole = partial(made, large, folder)
    yield _in_ms(f"status of {openings} openings worked out and written", whole, samples, of=BARE)
    bare = f"peak of {BARE}"
    yield Figure(bare, "MB", (peak(lambda: write_bare(cells_of(path), folder / "bare.xlsx")),))
    smaller = f"peak of the status of {small.site.openings.count()} openings"
    yield Figure(smaller, "MB", (peak(partial(made, small, folder)),))
    yield Figure(f"peak of the status of {openings} openings", "MB", (peak(whole),), smaller)


def made(worked: WorkedSite, folder: Path) -> Path:
    """The status as a person who asks for it gets it."""
    at = now()
    week = clock_of(worked.site).running(at)
    (path,) = make_status(site=worked.site, week=week, now=at, folder=folder, formats=[Format.XLSX]).files
    return path


def snapshot_of(worked: WorkedSite, folder: Path) -> Snapshot:
    """The rows of the status, before any of them is written to a sheet."""
    at = now()
    return take_snapshot(site=worked.site, week=clock_of(worked.site).running(at), now=at, folder=folder)


def cells_of(path: Path) -> Sheets:
    """Every cell of a workbook, in memory."""
    with CalamineWorkbook.from_path(path) as book:
        return {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in book.sheet_names}


def write_bare(sheets: Sheets, path: Path) -> None:
    """The cells by the library alone, streamed as the status is; without its looks, charts and print set-up."""
    with xlsxwriter.Workbook(str(path), OPTIONS) as workbook:
        moment = workbook.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for name, rows in sheets.items():
            sheet = workbook.add_worksheet(name)
            for at, row in enumerate(rows):
                for place, value in enumerate(row):
                    if isinstance(value, str):
                        if value:
                            sheet.write_string(at, place, value)
                    elif isinstance(value, datetime | date):
                        sheet.write_datetime(at, place, value, moment)
                    else:
                        sheet.write_number(at, place, value)


def peak(work: Callable[[], object]) -> float:
    """The most memory, in megabytes, that Python held for one call at any moment of it."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1] / BYTES_OF_A_MB
    finally:
        tracemalloc.stop()


def _in_ms(name: str, work: Callable[[], object], samples: int, *, of: str = "") -> Figure:
    """Not warmed: a run is long, and a status is made once."""
    return Figure(name, MS, tuple(milliseconds(work) for _ in range(samples)), of)
