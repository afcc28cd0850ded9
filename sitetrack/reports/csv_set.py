"""The status as CSV (RFC 4180), a file a table; and the set of them in one ZIP."""

import csv
import zipfile
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path

from sitetrack.reports.cells import disarmed
from sitetrack.reports.showing import Shower, Shown
from sitetrack.reports.snapshot import Snapshot

# The date ZIP counts from: an entry's own time would make the same status other bytes each time.
ZIP_EPOCH = (1980, 1, 1, 0, 0, 0)


def write_csv_set(snapshot: Snapshot, folder: Path, stem: str) -> list[Path]:
    """Write `<stem>-<table>.csv` for every table, headings and words in the site's language; returns the files.

    UTF-8 with a byte order mark, by which spreadsheets know it. A text that a spreadsheet would run has a ' before it.
    """
    shower = Shower(snapshot.words, str(snapshot.header["time_zone"]))
    paths = []
    for table in snapshot.tables:
        path = folder / f"{stem}-{table.name}.csv"
        with path.open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file, lineterminator="\r\n")
            writer.writerow([disarmed(column.title) for column in table.columns])
            for row in snapshot.rows(table):
                writer.writerow([_written(shower.show(column, row[column.key])) for column in table.columns])
        paths.append(path)
    return paths


def zip_files(paths: Iterable[Path], target: Path) -> None:
    """Put files into a ZIP under their own names, without their times."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in paths:
            entry = zipfile.ZipInfo(path.name, ZIP_EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            with path.open("rb") as source, archive.open(entry, "w") as sink:
                while block := source.read(1 << 20):
                    sink.write(block)


def _written(shown: Shown) -> str | int | float | None:
    if isinstance(shown, datetime | date):
        return shown.isoformat()
    return disarmed(shown) if isinstance(shown, str) else shown
