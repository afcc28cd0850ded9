"""Issuing a status: made once after its cut-off, and kept."""

import hashlib
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db import transaction

from inspections.models.webhooks import Event
from inspections.services.announcing import Told, announce
from openings.models import Opening, Site
from openings.services.changes import next_numbers
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.storage import keep
from sitetrack.reports.making import Format, Made, make_status
from sitetrack.reports.models import AskedStatus, WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.week import ReportClock, Week, parse_week

KEPT_FORMATS = (Format.XLSX, Format.ZIP, Format.JSON, Format.LETTER, Format.A4)
# A batch received just before the cut-off may still be on its way into the database just after it.
SETTLING = timedelta(minutes=5)
MOST_CAUGHT_UP = 8  # weeks made up for after the workers were away


def can_be_issued(clock: ReportClock, week: Week) -> datetime:
    """From when on the figures of a week are all there."""
    return clock.cut_off(week) + SETTLING


def weeks_owed(site: Site, now: datetime) -> Iterator[Week]:
    """The weeks whose status is to be issued: those somebody asked for, and those closed since the last one issued.

    A site that never issued one owes the latest only; one without openings owes only what was asked for.
    """
    yield from map(parse_week, AskedStatus.objects.filter(site=site).values_list("iso_week", flat=True))
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
    with tempfile.TemporaryDirectory(prefix="issuing-") as scratch:
        made = make_status(site=site, week=week, now=now, folder=Path(scratch) / "files", formats=KEPT_FORMATS)
        if not made.header["final"]:
            raise ValueError(f"{week} of {site.code} is still running; its cut-off is {clock.cut_off(week)}")
        with transaction.atomic():
            Site.objects.select_for_update().get(pk=site.pk)
            kept = kept_status(site, week)
            if kept:
                return kept
            kept = WeeklyStatus.objects.create(
                site=site,
                iso_week=str(week),
                cut_off=clock.cut_off(week),
                made_at=now,
                digest=made.digest,
                figures=dict(made.figures),
                files=_kept_files(made, f"reports/{site.code}/{week}"),
            )
            AskedStatus.objects.filter(site=site, iso_week=str(week)).delete()
            next_numbers(site.pk, 1)  # pages that list it are drawn again
            announce(site_id=site.pk, tell=lambda: [_told_of(kept, site)], now=now)
            return kept


def _told_of(kept: WeeklyStatus, site: Site) -> Told:
    told = {
        "site": site.code,
        "week": kept.iso_week,
        "cut_off": rfc3339(kept.cut_off),
        "digest": kept.digest,
        "address": f"{settings.PUBLIC_URL}/s/{site.code}/weekly",
    }
    return Event.SNAPSHOT_MADE, kept.made_at, told


def kept_status(site: Site, week: Week) -> WeeklyStatus | None:
    """The status of a week as it was issued, if it was."""
    return WeeklyStatus.objects.filter(site=site, iso_week=str(week)).first()


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file of an issued status, wherever reports are kept."""

    stored: str

    @property
    def name(self) -> str:
        """What it is called by itself."""
        return PurePosixPath(self.stored).name

    def open(self) -> File:
        """Opened to read its bytes; raises OSError."""
        return default_storage.open(self.stored)


def kept_file(kept: WeeklyStatus, form: Format) -> KeptFile | None:
    """A file of an issued status, if it is still where it was put."""
    listed = kept.files.get(str(form))
    return KeptFile(listed["name"]) if listed and default_storage.exists(listed["name"]) else None


def _kept_files(made: Made, folder: str) -> dict[str, dict[str, str | int]]:
    """Keep what was made, in place of what a worker left there that died before it could say so."""
    listed: dict[str, dict[str, str | int]] = {}
    for path in made.files:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            file.seek(0)
            keep(f"{folder}/{path.name}", file)
        form = next(str(form) for form in KEPT_FORMATS if path.name.endswith(f".{form}"))
        listed[form] = {"name": f"{folder}/{path.name}", "bytes": path.stat().st_size, "sha256": digest}
    return listed
