"""The demo's schedules go in as any other would: read from a file, settled, and taken in."""

import hashlib
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from openings.intake.sources import opened_source
from openings.models import ScheduleRevision, Site
from openings.selectors.comparison import Listing, Terms, state_of_schedule
from openings.selectors.facts import ListedOpening
from openings.services.take_in import Schedule, take_in
from sitetrack.access.models import Person

DEFAULTS = {"size_is": "opening", "wall_kind": "steel_stud"}


def take_csv_in(*, site: Site, text: str, file_name: str, label: str, who: Person, now: datetime) -> ScheduleRevision:
    """Take a schedule in from its CSV text; raises RuntimeError when any of its rows is refused."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / file_name
        path.write_text(text, encoding="utf-8", newline="")
        with opened_source(path, file_name) as source:
            settled = replace(source.choices().proposed, defaults=DEFAULTS)
            readings = list(source.readings(settled))
    listed = [reading for reading in readings if isinstance(reading, ListedOpening)]
    listing = Listing()
    for opening in listed:
        listing.enter(opening)
    schedule = Schedule(
        openings=lambda: listed,
        listing=listing,
        terms=Terms(defaults={"size_is": "opening"}),
        based_on=state_of_schedule(site.pk),
        file_name=file_name,
        file_digest=hashlib.sha256(text.encode()).hexdigest(),
        label=label,
    )
    return take_in(site=site, schedule=schedule, who=who, now=now)
