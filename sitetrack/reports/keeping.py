"""Issuing a status: made once after its cut-off, and kept."""

import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction

from openings.models import Opening, Site
from sitetrack.reports.making import Format, Made, make_status
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.week import Week, parse_week

KEPT_FORMATS = (Format.XLSX, Format.ZIP, Format.JSON, Format.LETTER, Format.A4)
# A batch received just before the cut-off may still be on its way into the database just after it.
SETTLING = timedelta(minutes=5)
MOST_CAUGHT_UP = 8  # weeks made up for after the workers were away


def weeks_owed(site: Site, now: datetime) -> Iterator[Week]:
    """The weeks whose status is to be issued, oldest first: those closed since the last one issued.

    A site that never issued one owes the latest only; one without openings owes none.
    """
    if not Opening.objects.filter(site=site).exists():
        return
    latest = clock_of(site).latest_closed(now - SETTLING)
    last = WeeklyStatus.objects.filter(site=site).order_by("-cut_off").first()
    first = parse_week(last.iso_week).shifted(1) if last else latest
    week = max(first, latest.shifted(1 - MOST_CAUGHT_UP))
    while week <= latest:
        yield week
        week = week.shifted(1)


def issue_status(*, site: Site, week: Week, now: datetime) -> WeeklyStatus:
    """Make and keep the status of a closed week; the one already kept where there is one.

    Of two workers who make it at once, the one that comes first to the site's lock keeps its files. Raises WeekError
    where the cut-off has not passed.
    """
    clock = clock_of(site)
    kept = kept_status(site, week)
    if kept:
        return kept
    root = Path(settings.MEDIA_ROOT)
    folder = root / "reports" / site.code / str(week)
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".issuing-") as scratch:
        made = make_status(site=site, week=week, now=now, folder=Path(scratch) / "files", formats=KEPT_FORMATS)
        if not made.header["final"]:
            raise ValueError(f"{week} of {site.code} is still running; its cut-off is {clock.cut_off(week)}")
        with transaction.atomic():
            Site.objects.select_for_update().get(pk=site.pk)
            kept = kept_status(site, week)
            if kept:
                return kept
            if folder.exists():  # left by a worker that died before it could say so
                shutil.rmtree(folder)
            (Path(scratch) / "files").rename(folder)
            return WeeklyStatus.objects.create(
                site=site,
                iso_week=str(week),
                cut_off=clock.cut_off(week),
                made_at=now,
                digest=made.digest,
                figures=dict(made.figures),
                files=_listed(made, folder, root),
            )


def kept_status(site: Site, week: Week) -> WeeklyStatus | None:
    """The status of a week as it was issued, if it was."""
    return WeeklyStatus.objects.filter(site=site, iso_week=str(week)).first()


def kept_file(kept: WeeklyStatus, form: Format) -> Path | None:
    """A file of an issued status, if it is still where it was put."""
    listed = kept.files.get(str(form))
    path = Path(settings.MEDIA_ROOT) / listed["name"] if listed else None
    return path if path and path.is_file() else None


def _listed(made: Made, folder: Path, root: Path) -> dict[str, dict[str, str | int]]:
    listed: dict[str, dict[str, str | int]] = {}
    for path in (folder / file.name for file in made.files):
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        form = next(str(form) for form in KEPT_FORMATS if path.name.endswith(f".{form}"))
        listed[form] = {"name": str(path.relative_to(root)), "bytes": path.stat().st_size, "sha256": digest}
    return listed
