"""The files agree with each other. Opened with openpyxl, the csv module and json, none of which wrote them."""

import csv
import hashlib
import io
import json
import re
import zipfile
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import openpyxl
import pytest
from django.utils import translation
from openpyxl.utils.escape import unescape

from sitetrack.reports.cells import disarmed
from sitetrack.reports.making import Format, make_status
from sitetrack.reports.snapshot import take_snapshot
from sitetrack.reports.workbook import write_workbook
from tests import builders as make
from tests.reports.story import AFTER, HOSTILE, WEEK, job

pytestmark = pytest.mark.django_db
ALL = tuple(Format)
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")


def made(site, folder, *, now=AFTER, week=WEEK):
    status = make_status(site=site, week=week, now=now, folder=folder, formats=ALL)
    return status, json.loads((folder / f"{site.code}-{week}.json").read_text("utf-8"))


def shown(document, kinds, key, value):
    """A value of the JSON as a person reads it, worked out from the JSON's own words and the tz database."""
    kind, words = kinds[key]
    if value is None:
        return None
    if kind == "flag":
        return document["words"]["flag"]["yes" if value else "no"]
    if kind == "word":
        return document["words"][words].get(value, value)
    if kind == "moment":
        moment = datetime.fromisoformat(value)
        return moment.astimezone(ZoneInfo(document["about"]["time_zone"]))
    return date.fromisoformat(value) if kind == "date" else value


def as_cell(value):
    """Cells know no zones, and openpyxl reads a day as its midnight."""
    if isinstance(value, datetime):
        return value.replace(tzinfo=None)
    return datetime.combine(value, time.min) if isinstance(value, date) else value


def as_csv(value):
    if isinstance(value, date):
        return value.isoformat()
    return disarmed(value) if isinstance(value, str) else "" if value is None else str(value)


def expected_rows(document, snapshot_tables):
    """(table title, headings, rows as read) of every table of the JSON."""
    for table in snapshot_tables:
        part = document["tables"][table.name]
        kinds = {column.key: (str(column.kind), column.words) for column in table.columns}
        assert list(part["columns"]) == list(kinds)
        rows = [[shown(document, kinds, key, value) for key, value in row.items()] for row in part["rows"]]
        yield table, part, rows


def tables_of(site, folder):
    folder.mkdir()
    return take_snapshot(site=site, week=WEEK, now=AFTER, folder=folder).tables


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_the_workbook_and_the_csv_set_say_what_the_json_says(tmp_path, language, units):
    story = job(language=language, units=units)
    _, document = made(story.site, tmp_path / "out")
    book = openpyxl.load_workbook(tmp_path / "out" / f"clinic-{WEEK}.xlsx")
    tables = tables_of(story.site, tmp_path / "rows")
    assert book.sheetnames == [table.title for table in tables]
    for table, part, rows in expected_rows(document, tables):
        headings = list(part["columns"].values())
        sheet = list(book[part["title"]].iter_rows(values_only=True))
        head = next(n for n, cells in enumerate(sheet) if list(cells[: len(headings)]) == headings)
        for cells, row in zip(sheet[head + 1 :], rows, strict=False):
            plain = [as_cell(value) for value in row]
            assert list(cells) == plain
        with (tmp_path / "out" / f"clinic-{WEEK}-{table.name}.csv").open(encoding="utf-8-sig", newline="") as file:
            written = list(csv.reader(file))
        assert written == [headings, *([as_csv(value) for value in row] for row in rows)]
        assert len(rows) <= len(sheet) - head - 1


def test_sums_below_a_table_are_the_figures_of_the_summary(tmp_path):
    story = job()
    _, document = made(story.site, tmp_path)
    summary = {row["figure"]: row for row in document["tables"]["summary"]["rows"]}
    book = openpyxl.load_workbook(tmp_path / f"clinic-{WEEK}.xlsx")
    for name in ("floors", "trades", "stages", "companies", "openings"):
        part = document["tables"][name]
        last = [cell.value for cell in list(book[part["title"]].rows)[-1]]
        sums = dict(zip(part["columns"], last, strict=True))
        assert last[0] == "Σ"
        assert sums["earned"] == sum(row["earned"] for row in part["rows"]) == summary["earned"]["this_week"]
        assert sums["earned_change"] == summary["earned"]["change"]


def test_the_same_snapshot_twice_gives_the_same_bytes(tmp_path):
    story = job()
    first, _ = made(story.site, tmp_path / "a")
    again, _ = made(story.site, tmp_path / "b", now=AFTER + make.DAY)
    assert first.digest == again.digest
    assert [p.name for p in first.files] == [p.name for p in again.files]
    for one, other in zip(first.files, again.files, strict=True):
        assert one.read_bytes() == other.read_bytes(), one.name
    assert hashlib.sha256((tmp_path / "a" / f"clinic-{WEEK}.json").read_bytes()).hexdigest() == first.digest


def test_nothing_in_the_files_is_run_by_a_spreadsheet(tmp_path):
    story = job()
    made(story.site, tmp_path)
    book = openpyxl.load_workbook(tmp_path / f"clinic-{WEEK}.xlsx")
    cells = [cell for sheet in book for row in sheet.rows for cell in row]
    assert HOSTILE in [cell.value for cell in cells]
    assert {cell.data_type for cell in cells} <= {"s", "n", "d", "inlineStr"}  # "f" would be a formula
    assert not [cell for cell in cells if cell.hyperlink]
    for path in tmp_path.glob("*.csv"):
        for row in csv.reader(io.StringIO(path.read_text("utf-8-sig"))):
            assert not [text for text in row if text[:1] in set("=+-@\t\r\n") and not NUMBER.fullmatch(text)]


def test_names_of_every_script_are_read_back_as_written(tmp_path):
    story = job()
    made(story.site, tmp_path)
    book = openpyxl.load_workbook(tmp_path / f"clinic-{WEEK}.xlsx")
    seen = {cell.value for sheet in book for row in sheet.rows for cell in row}
    assert {"شركة الأبواب", "late 🚚 Íñiguez"} <= seen
    text = (tmp_path / f"clinic-{WEEK}-late.csv").read_text("utf-8-sig")
    assert "late 🚚 Íñiguez" in text
    assert "شركة الأبواب" in text


def test_a_note_longer_than_a_cell_is_cut_in_the_workbook_and_whole_in_the_json(tmp_path):
    story = job()
    note = "ß" * 40_000
    make.check_in(story.crew, story.untouched, "receive", "hold", at=make.MONDAY, note=note)
    _, document = made(story.site, tmp_path)
    assert note in [row["reason"] for row in document["tables"]["holds"]["rows"]]
    book = openpyxl.load_workbook(tmp_path / f"clinic-{WEEK}.xlsx")
    longest = max((cell.value for row in book["Holds"].rows for cell in row if isinstance(cell.value, str)), key=len)
    assert len(longest) == 32_767
    assert longest.endswith("ß […]")


def test_characters_that_no_workbook_may_hold_are_replaced_in_every_file_alike(tmp_path):
    story = job()
    make.check_in(story.crew, story.untouched, "receive", "hold", at=make.MONDAY, note="a\x0bb\ufffec _x0041_\r\nd")
    _, document = made(story.site, tmp_path)
    expected = "a\ufffdb\ufffdc _x0041_\nd"
    assert expected in [row["reason"] for row in document["tables"]["holds"]["rows"]]
    book = openpyxl.load_workbook(tmp_path / f"clinic-{WEEK}.xlsx")
    # "_xHHHH_" is an escape in a cell (ECMA-376, ST_Xstring), so text that looks like one is itself escaped. openpyxl
    # undoes that in shared strings only.
    assert expected in [unescape(str(cell.value)) for row in book["Holds"].rows for cell in row]


def test_a_table_longer_than_a_sheet_goes_on_in_the_next(tmp_path):
    story = job()
    make.openings(story.site, 8, on=story.high)
    (tmp_path / "rows").mkdir()
    snapshot = take_snapshot(site=story.site, week=WEEK, now=AFTER, folder=tmp_path / "rows")
    write_workbook(snapshot, tmp_path / "small.xlsx", most_rows=8)
    book = openpyxl.load_workbook(tmp_path / "small.xlsx")
    assert {"Openings", "Openings (2)"} <= set(book.sheetnames)
    named = {table.name: table for table in snapshot.tables}
    numbers = [row[0] for name in ("Openings", "Openings (2)") for row in list(book[name].values)[1:]]
    assert [n for n in numbers if n and n != "Σ"] == [row["opening"] for row in snapshot.rows(named["openings"])]
    assert max(sheet.max_row for sheet in book) <= 8 + 2


def test_the_zip_holds_the_csv_files(tmp_path):
    story = job()
    made(story.site, tmp_path)
    with zipfile.ZipFile(tmp_path / f"clinic-{WEEK}-csv.zip") as archive:
        assert archive.testzip() is None
        for name in archive.namelist():
            assert archive.read(name) == (tmp_path / name).read_bytes()
    assert sorted(archive.namelist()) == sorted(path.name for path in tmp_path.glob("*.csv"))


def test_a_status_speaks_the_language_of_its_site_whoever_asks(tmp_path):
    english, spanish = job(code="north"), job(code="sur", language="es")
    with translation.override("es"):
        asked_in_spanish, document = made(english.site, tmp_path / "a")
    with translation.override("en"):
        asked_in_english, _ = made(english.site, tmp_path / "b")
        _, documento = made(spanish.site, tmp_path / "c")
    assert asked_in_spanish.digest == asked_in_english.digest
    assert (document["tables"]["openings"]["title"], documento["tables"]["openings"]["title"]) == ("Openings", "Vanos")
    assert documento["words"]["stage"]["receive"] == "Recibir el marco en obra"
    same = {"no"}  # the one word that both languages write alike
    for words in ("state", "action", "verdict", "figure", "item", "flag", "mark"):
        for code, text in documento["words"][words].items():
            assert text != document["words"][words][code] or text in same, f"not translated: {text}"
    for name, table in documento["tables"].items():
        for key, title in table["columns"].items():
            assert title != document["tables"][name]["columns"][key], f"not translated: {title}"
