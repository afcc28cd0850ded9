"""Frames as components for the owner's hand-over: COBie's Component sheet, with the day each was set.

The columns are those of the Component sheet in a published COBie 2 sample file, in its order. An empty cell says n/a,
as the practice of the standard is.
"""

import csv
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from uuid import UUID

import xlsxwriter

from inspections.models import Progress
from openings.models import Opening, Site
from openings.sequence.stage import Mark
from sitetrack.kit.clock import from_ms
from sitetrack.reports.cells import clean, cut, disarmed
from sitetrack.reports.handover.marked import is_done, standings

COLUMNS = (
    "Name", "CreatedBy", "CreatedOn", "TypeName", "Space", "Description", "ExtSystem", "ExtObject", "ExtIdentifier",
    "SerialNumber", "InstallationDate", "WarrantyStartDate", "TagNumber", "BarCode", "AssetIdentifier",
)  # fmt: skip
NOTHING = "n/a"
SYSTEM = "Sitetrack"
CHUNK = 500


def component_rows(site: Site, now: datetime) -> Iterator[dict[str, str]]:
    """One row for each listed opening in walking order; `InstallationDate` where its frame is set. One query."""
    openings = Opening.objects.filter(site=site, in_schedule=True).select_related("progress")
    order = ("floor__building__code", "floor__level", "floor__code", "walk", "number")
    for opening in openings.order_by(*order).iterator(chunk_size=CHUNK):
        progress = getattr(opening, "progress", None)
        spaces = ",".join(part for part in (opening.room_from, opening.room_to) if part)
        known = {
            "Name": opening.number,
            "CreatedBy": site.contact,
            "CreatedOn": f"{now.astimezone(site.zone):%Y-%m-%dT%H:%M:%S}",
            "TypeName": opening.mark,
            "Space": spaces,
            "Description": "Hollow metal door frame",
            "ExtSystem": SYSTEM,
            "ExtObject": "IfcDoor",
            "ExtIdentifier": opening.source_key,
            "InstallationDate": installed_on(progress, opening.plan_id, site) if progress else "",
            "TagNumber": opening.number,
        }
        yield {column: clean(known.get(column) or NOTHING) for column in COLUMNS}


def installed_on(progress: Progress, plan_id: UUID, site: Site) -> str:
    """The day, on the site's clock, the frame was set; empty where it does not stand."""
    if not is_done(progress, plan_id, Mark.STANDS_FRAME):
        return ""
    since: list[int] = [each["since"] for each in standings(progress, plan_id, Mark.STANDS_FRAME) if each.get("since")]
    if not since:
        return ""
    return from_ms(max(since)).astimezone(site.zone).date().isoformat()


def write_components_csv(site: Site, path: Path, *, now: datetime) -> None:
    """Write the rows as CSV (RFC 4180), streamed; a text that a spreadsheet would run has a ' before it."""
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow(COLUMNS)
        for row in component_rows(site, now):
            writer.writerow([disarmed(row[column]) for column in COLUMNS])


def write_components(site: Site, path: Path, *, now: datetime) -> None:
    """Write the rows as a workbook with the one sheet, streamed; nothing in it is ever run."""
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as workbook:
        sheet = workbook.add_worksheet("Component")
        heading = workbook.add_format({"bold": True, "bottom": 1})
        for place, column in enumerate(COLUMNS):
            sheet.write_string(0, place, column, heading)
            sheet.set_column(place, place, 18)
        sheet.freeze_panes(1, 1)
        for at, row in enumerate(component_rows(site, now), 1):
            for place, column in enumerate(COLUMNS):
                sheet.write_string(at, place, cut(row[column]))
