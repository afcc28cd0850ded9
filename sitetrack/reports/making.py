"""Making the files of a weekly status: whole or not at all."""

import tempfile
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from openings.models import Site
from sitetrack.reports.csv_set import write_csv_set, zip_files
from sitetrack.reports.edition import Edition
from sitetrack.reports.json_file import write_json
from sitetrack.reports.snapshot import snapshot_steps
from sitetrack.reports.steps import Progress, Steps, finished
from sitetrack.reports.tables import Plain
from sitetrack.reports.week import Week
from sitetrack.reports.weekly_pdf import write_weekly_pdf
from sitetrack.reports.workbook import write_workbook


class Format(StrEnum):
    """What a status can be written as."""

    XLSX = "xlsx"
    CSV = "csv"  # a file a table
    ZIP = "zip"  # those files in one
    JSON = "json"
    PDF = "pdf"  # on paper of the size that is usual where the site measures as it does
    LETTER = "letter.pdf"
    A4 = "a4.pdf"


def paper_size(site: Site, form: Format) -> str:
    """The paper a print is made for: as asked, else Letter where the site works in inches and A4 in millimetres."""
    asked = {Format.LETTER: "letter", Format.A4: "a4"}
    return asked.get(form) or ("a4" if site.units == Site.Units.METRIC else "letter")


@dataclass(frozen=True, slots=True)
class Made:
    """The files of a status, the digest of it all, which is the SHA-256 of its JSON, asked for or not; its figures."""

    header: Mapping[str, Plain]
    digest: str
    files: tuple[Path, ...]
    figures: Mapping[str, int]


def make_status(
    *,
    site: Site,
    week: Week,
    now: datetime,
    folder: Path,
    formats: Collection[Format],
    progress: Progress | None = None,
    edition: Edition | None = None,
) -> Made:
    """Make a status in one go, telling `progress` how many openings are done of how many; see `status_steps`."""
    steps = status_steps(site=site, week=week, now=now, folder=folder, formats=formats, edition=edition)
    return finished(steps, progress)


def status_steps(
    *, site: Site, week: Week, now: datetime, folder: Path, formats: Collection[Format], edition: Edition | None = None
) -> Steps[Made]:
    """Make a site's status of a week in `folder`, which is made where there is none, replacing files of the same name.

    Everything is written in a scratch folder beside them and moved when all of it is whole: broken off, it leaves what
    was there before. `edition` makes that of one company. Raises WeekError for a week that has not begun.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as scratch:
        rows, out, aside = (Path(scratch) / name for name in ("rows", "out", "aside"))
        for made in (rows, out, aside):
            made.mkdir()
        snapshot = yield from snapshot_steps(site=site, week=week, now=now, folder=rows, edition=edition)
        stem = f"{site.code}-{week}-{edition.ending}" if edition else f"{site.code}-{week}"
        json_folder = out if Format.JSON in formats else aside
        digest = write_json(snapshot, json_folder / f"{stem}.json")
        if Format.XLSX in formats:
            write_workbook(snapshot, out / f"{stem}.xlsx")
        if {Format.CSV, Format.ZIP} & set(formats):
            tables = write_csv_set(snapshot, out if Format.CSV in formats else aside, stem)
            if Format.ZIP in formats:
                zip_files(tables, out / f"{stem}-csv.zip")
        for form in (Format.PDF, Format.LETTER, Format.A4):
            if form in formats:
                write_weekly_pdf(snapshot, out / f"{stem}.{form}", size=paper_size(site, form), digest=digest)
        files = tuple(path.replace(folder / path.name) for path in sorted(out.iterdir()))
        return Made(snapshot.header, digest, files, snapshot.figures())
