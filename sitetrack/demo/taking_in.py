"""The demo's schedules go in as any other would: read from a file, settled, and taken in."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file, unit_of
from openings.models import ScheduleRevision, Site
from openings.selectors.comparison import state_of_schedule
from sitetrack.access.models import Person

# What the file has no column for.
DEFAULTS = {"size_is": "opening", "wall_kind": "steel_stud"}


def take_csv_in(*, site: Site, text: str, file_name: str, label: str, who: Person, now: datetime) -> ScheduleRevision:
    """Take a schedule in from its CSV text; raises RuntimeError when any of its rows is refused."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / file_name
        path.write_text(text, encoding="utf-8", newline="")
        with opened_source(path, file_name, unit=unit_of(site)) as source:
            settled = replace(choices_for(site, source).proposed, defaults=DEFAULTS)
            seen = SeenFile(path, file_name, settled, state_of_schedule(site.pk), label)
            revision = take_in_file(site=site, source=source, seen=seen, who=who, now=now)
    if revision.refused:
        raise RuntimeError(f"{revision.refused} rows of the demo's {label} were refused")
    return revision
