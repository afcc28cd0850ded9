"""Making the files of a weekly status: whole or not at all."""

import tempfile
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from openings.models import Site
from sitetrack.reports.csv_set import write_csv_set, zip_files
from sitetrack.reports.json_file import write_json
from sitetrack.reports.snapshot import Progress, take_snapshot
from sitetrack.reports.tables import Plain
from sitetrack.reports.week import Week
from sitetrack.reports.workbook import write_workbook


class Format(StrEnum):
    """What a status can be written as."""

    XLSX = "xlsx"
    CSV = "csv"  # a file a table
    ZIP = "zip"  # those files in one
    JSON = "json"


@dataclass(frozen=True, slots=True)
class Made:
    """The files of a status and the digest of its figures, which is the SHA-256 of its JSON, asked for or not."""

    header: Mapping[str, Plain]
    digest: str
    files: tuple[Path, ...]


def make_status(
    *,
    site: Site,
    week: Week,
    now: datetime,
    folder: Path,
    formats: Collection[Format],
    progress: Progress | None = None,
) -> Made:
    """Make a site's status of a week in `folder`, which is made where there is none, replacing files of the same name.

    Everything is written in a scratch folder beside them and moved when all of it is whole: broken off, it leaves what
    was there before. Raises WeekError for a week that has not begun.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as scratch:
        rows, out, aside = (Path(scratch) / name for name in ("rows", "out", "aside"))
        for made in (rows, out, aside):
            made.mkdir()
        snapshot = take_snapshot(site=site, week=week, now=now, folder=rows, progress=progress)
        stem = f"{site.code}-{week}"
        json_folder = out if Format.JSON in formats else aside
        digest = write_json(snapshot, json_folder / f"{stem}.json")
        if Format.XLSX in formats:
            write_workbook(snapshot, out / f"{stem}.xlsx")
        if {Format.CSV, Format.ZIP} & set(formats):
            tables = write_csv_set(snapshot, out if Format.CSV in formats else aside, stem)
            if Format.ZIP in formats:
                zip_files(tables, out / f"{stem}-csv.zip")
        files = tuple(path.replace(folder / path.name) for path in sorted(out.iterdir()))
    return Made(snapshot.header, digest, files)
