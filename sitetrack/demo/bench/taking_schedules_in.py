"""What previewing a schedule costs, beside the libraries that read such files reading them alone."""

import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid
import xlsxwriter
from python_calamine import CalamineWorkbook

from openings.intake.previewing import Preview, preview
from openings.intake.sources import opened_source
from openings.intake.taking_in import choices_for
from openings.models import Site
from openings.services.sites import open_site
from sitetrack.access.models import Company, Person
from sitetrack.demo.bench.figures import Figure, each_in_ms
from sitetrack.demo.bench.scratch import shared_database
from sitetrack.kit.clock import now

ROWS, DOORS, SAMPLES = 20_000, 500, 5
ON_A_FLOOR = 500
HEADINGS = ("Door No.", "Level", "Width", "Height", "Hand", "Hardware set", "Fire rating", "Room from", "Remarks")


def measure_intake(*, quick: bool, model: Path | None = None) -> list[Figure]:
    """A workbook and a building model, from the file as it came to the preview; nothing is taken in."""
    rows, doors, samples = (ROWS // 100, DOORS // 50, 1) if quick else (ROWS, DOORS, SAMPLES)
    with shared_database(), tempfile.TemporaryDirectory() as folder:
        who = Person.objects.create_user("bench@example.com", name="Bench")
        firm = Company.objects.create(name="Bench")
        site = open_site(code="bench", name="Bench", supervisor=who, company=firm, now=now())
        schedule = large_schedule(Path(folder) / "schedule.xlsx", rows)
        return list(intake_of(site, schedule, model or small_model(Path(folder) / "model.ifc", doors), samples))


def intake_of(site: Site, schedule: Path, model: Path, samples: int) -> Iterator[Figure]:
    """Each file read by the library alone, then read, understood and compared with the site's openings."""
    alone = f"python-calamine alone, {len(read_alone(schedule))} rows"
    yield each_in_ms(alone, [partial(read_alone, schedule)] * samples)
    yield each_in_ms(
        f"{previewed(site, schedule).rows} rows previewed", [partial(previewed, site, schedule)] * samples, of=alone
    )
    doors = len(opened_alone(model).by_type("IfcDoor"))
    alone = f"ifcopenshell alone, {doors} doors"
    yield each_in_ms(alone, [partial(opened_alone, model)] * samples)
    yield each_in_ms(f"{doors} doors previewed", [partial(previewed, site, model)] * samples, of=alone)


def previewed(site: Site, path: Path) -> Preview:
    """The preview of a file as it is first shown, with the columns as they are proposed."""
    with opened_source(path, path.name) as source:
        return preview(site, source, choices_for(site, source).proposed)


def read_alone(path: Path) -> list[list[Any]]:
    """Every row of the first sheet, headings and all."""
    with CalamineWorkbook.from_path(path) as book:
        return book.get_sheet_by_index(0).to_python()


def opened_alone(path: Path) -> Any:
    """The model with everything in it, not yet asked for anything."""
    return ifcopenshell.open(path)


def large_schedule(path: Path, rows: int) -> Path:
    """A workbook of so many openings, no two of one number."""
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as book:
        sheet = book.add_worksheet("Door Schedule")
        sheet.write_row(0, 0, HEADINGS)
        for n in range(rows):
            floor = n // ON_A_FLOOR + 1
            told = (f"{floor}-{n:05}", floor, "3'-0\"", "7'-0\"", "RH", f"HW-{n % 30}", "NR", f"Room {n}", f"see {n}")
            sheet.write_row(n + 1, 0, told)
    return path


def small_model(path: Path, doors: int) -> Path:
    """An IFC4 model of so many doors on one storey, without walls or shapes: real ones hold far more beside doors."""
    model = ifcopenshell.file(schema="IFC4")

    def entity(kind: str, **told: Any) -> Any:
        return model.create_entity(kind, GlobalId=ifcopenshell.guid.new(), **told)

    metre = model.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
    entity("IfcProject", Name="Bench", UnitsInContext=model.create_entity("IfcUnitAssignment", Units=[metre]))
    storey = entity("IfcBuildingStorey", Name="Level 1", Elevation=0.0)
    made = [entity("IfcDoor", Tag=str(1000 + n), OverallWidth=0.915, OverallHeight=2.134) for n in range(doors)]
    entity("IfcRelContainedInSpatialStructure", RelatedElements=made, RelatingStructure=storey)
    model.write(str(path))
    return path
