"""No file this server hands out is run by a spreadsheet: every address of one is walked, with names that would be."""

import csv
import io
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from openings.models import Opening, Site
from sitetrack.access.models import Company, Person
from tests import builders as make

pytestmark = pytest.mark.django_db
HOSTILE = '=HYPERLINK("http://x.example","pay")'
NUMBER = re.compile(r"[+\-−]?[0-9]+([.:][0-9]+)*")
ROOT = Path(__file__).parents[2]
# Every route that hands out cells, by its name.
EXPORTS = {
    "weekly-xlsx": "/s/clinic/weekly/2026-W10.xlsx",
    "weekly-csv": "/s/clinic/weekly/2026-W10.zip",
    "components": "/s/clinic/components.xlsx",
    "components-csv": "/s/clinic/components.csv",
    "kit-csv": "/s/clinic/kit.csv?numbers=-101",
    "changes-csv": "/s/clinic/changes.csv",
}


def routes(patterns, before=""):
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from routes(each.url_patterns, before + str(each.pattern))
        elif isinstance(each, URLPattern):
            yield before + str(each.pattern), each.name


@pytest.fixture
def hostile(job: Site) -> Site:
    """A site whose names were all typed by somebody who means harm."""
    crew = make.crew(job, company_=Company.objects.create(name=HOSTILE))
    opening = make.opening(job, "101", mark=HOSTILE, room_from=HOSTILE, hardware_set="+1+1", rating_text="@now")
    make.work_up_to(opening, "anchor")
    make.frame_check(crew, opening, at=make.MONDAY + make.DAY, readings=make.TWISTED_READINGS, note="-2+3")
    make.check_in(crew, opening, "receive", "hold", at=make.MONDAY + make.DAY, note=HOSTILE)
    Person.objects.filter(memberships__site=job).update(name=HOSTILE)
    Opening.objects.filter(pk=opening.pk).update(number="-101")
    return job


def test_every_address_of_cells_is_walked_here():
    found = {name for pattern, name in routes(get_resolver().url_patterns) if re.search(r"\.(csv|xlsx|zip)", pattern)}
    assert found == set(EXPORTS)


@pytest.mark.parametrize("address", EXPORTS.values(), ids=EXPORTS)
def test_nothing_handed_out_is_run(hostile: Site, desk: Client, address: str):
    desk.post("/s/clinic/mailing", {"email": "office@example.com", "gets_status": "yes", "company": HOSTILE})
    answer = desk.get(address)
    assert answer.status_code == 200
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    seen = [cell for table in tables(address, content) for row in table for cell in row]
    assert any(cell.startswith("'") for cell in seen)  # something of it did come through
    assert not [cell for cell in seen if runs(cell)]


def runs(cell: str) -> bool:
    """Whether a spreadsheet that reads CSV would take this for more than text (CWE-1236, from memory)."""
    return cell.lstrip(" \u00a0")[:1] in set("=+-@＝＋－＠\t\r\n") and not NUMBER.fullmatch(cell)


def tables(address: str, content: bytes):
    """The cells as a spreadsheet would take them; a text cell of a workbook is never run, so it is quoted here."""
    if address.endswith(".xlsx"):
        book = openpyxl.load_workbook(io.BytesIO(content))
        cells = [[cell for row in sheet.rows for cell in row if cell.value is not None] for sheet in book]
        assert not [cell for sheet in cells for cell in sheet if cell.data_type == "f" or cell.hyperlink]
        return [[[f"'{cell.value}" for cell in sheet]] for sheet in cells]
    if address.endswith(".zip"):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return [rows_of(archive.read(name)) for name in archive.namelist()]
    return [rows_of(content)]


def rows_of(content: bytes):
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_whoever_writes_cells_disarms_them():
    """Each module that writes CSV takes the one function for it; the invented site's own schedule is no export."""
    for path in sorted((ROOT / "sitetrack").rglob("*.py")) + sorted((ROOT / "inspections").rglob("*.py")):
        text = path.read_text("utf-8")
        if ("csv.writer" in text or "csv.DictWriter" in text) and "demo" not in path.parts:
            assert "disarmed(" in text, path.name
