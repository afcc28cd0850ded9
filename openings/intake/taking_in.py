"""From a file to the job's openings: settle, preview, take in."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from openings.intake.previewing import Progress, Reading
from openings.intake.readings import Choices, Source
from openings.intake.settled import Settled
from openings.models import HeadingMap, ScheduleRevision, Site
from openings.services.take_in import Schedule, take_in
from sitetrack.access.models import Person
from sitetrack.kit.lengths import Unit

BLOCK = 1 << 20


def choices_for(site: Site, source: Source, *, sheet: str = "") -> Choices:
    """The proposal for a file: what was settled for the same headings before, or what the headings say."""
    remembered: Mapping[str, Any] | None = (
        HeadingMap.objects.filter(site=site, headings_digest=source.digest(sheet=sheet))
        .values_list("mapping", flat=True)
        .first()
    )
    return source.choices(remembered, sheet=sheet)


@dataclass(frozen=True, slots=True)
class SeenFile:
    """A file as a person saw it in a preview: how it was settled, and which state of the openings it was based on."""

    path: Path
    name: str
    settled: Settled
    based_on: str
    label: str = ""


def take_in_file(
    *, site: Site, source: Source, seen: SeenFile, who: Person, now: datetime, progress: Progress | None = None
) -> ScheduleRevision:
    """Take the file in as it was seen; raises Conflict where the openings changed since."""
    settled = seen.settled
    reading = Reading(source, settled, progress)
    total = max(source.total, 1)

    def written(done: int, openings: int) -> None:
        if progress:
            progress(total + total * done // max(openings, 1), 2 * total)

    schedule = Schedule(
        openings=reading.openings,
        listing=reading.listing,
        terms=reading.terms,
        based_on=seen.based_on,
        file_name=seen.name,
        file_digest=digest_of(seen.path),
        label=seen.label,
        refused=reading.refused_count,
        headings_digest=source.digest(sheet=settled.sheet),
        settled=settled.to_remember(),
    )
    return take_in(site=site, schedule=schedule, who=who, now=now, progress=written)


def digest_of(path: Path) -> str:
    """SHA-256 of the file, so that a revision says which file it was."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(BLOCK):
            digest.update(block)
    return digest.hexdigest()


def unit_of(site: Site) -> Unit:
    """The unit of numbers without a mark, where the file does not point to another."""
    return "mm" if site.units == Site.Units.METRIC else "in"
