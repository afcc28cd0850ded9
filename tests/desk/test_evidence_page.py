"""The form that asks for evidence: all four kinds reach a print, and the script that proves one comes with it."""

import io
import json
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pypdf
import pytest
from django.test import Client

from openings.models import Site
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db


class Form(HTMLParser):
    """What the page's form to the print would send, and where."""

    def __init__(self) -> None:
        super().__init__()
        self.action = ""
        self.names: list[str] = []
        self.others: list[str] = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form" and "evidence" in given.get("action", ""):
            self.action = given["action"]
        elif self.action and tag in {"input", "select"}:
            self.names.append(given.get("name"))
        elif tag == "button" and "formaction" in given:
            self.others.append(given["formaction"])


@pytest.fixture
def read(job: Site):
    crew = make.crew(job)
    opening = make.opening(job, "101")
    make.work_up_to(opening, "anchor")
    make.frame_check(crew, opening, at=make.MONDAY + make.DAY)
    return opening


def form_of(desk: Client, job: Site, query: str = "") -> Form:
    form = Form()
    form.feed(desk.get(f"/s/{job.code}/evidence{query}").content.decode())
    return form


@pytest.mark.parametrize(
    ("asked", "covers"),
    [
        (lambda o: {"opening": o.number}, "Opening 101"),
        (lambda o: {"floor": str(o.floor_id)}, "L1, A"),
        (lambda o: {"wall": o.wall.code}, "Wall W1"),
        (lambda o: {"from": "2026-03-03", "to": "2026-03-03"}, "from 2026-03-03"),
    ],
)
def test_each_kind_is_asked_for_with_the_fields_of_the_form(job, desk, read, asked, covers):
    form = form_of(desk, job)
    sent = dict.fromkeys(form.names, "") | {"paper": "a4"} | asked(read)
    assert set(sent) == set(form.names)
    print_ = desk.get(form.action, sent)
    said = "\n".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(b"".join(print_.streaming_content))).pages)
    assert covers in said
    assert "Opening 101" in said


def test_what_an_address_of_ours_asks_is_filled_in(job, desk, read):
    page = desk.get(f"/s/{job.code}/evidence?opening=101&floor={read.floor_id}").content.decode()
    assert 'value="101"' in page
    assert f'value="{read.floor_id}" selected' in page


def test_the_script_that_comes_with_it_proves_the_json_alone(job, desk, read, tmp_path: Path):
    (address,) = form_of(desk, job).others
    record = json.loads(b"".join(desk.get(address, {"opening": "101"}).streaming_content))
    script = tmp_path / "offline_verify.py"
    script.write_bytes(b"".join(desk.get("/evidence/offline_verify.py").streaming_content))

    def verdict():
        (tmp_path / "record.json").write_text(json.dumps(record), "utf-8")
        asked = [sys.executable, "-I", str(script), str(tmp_path / "record.json")]
        return subprocess.run(asked, capture_output=True, text=True, check=False)

    assert verdict().returncode == 0
    next(entry for entry in record["entries"] if "content" in entry)["content"]["note"] = "altered"
    assert verdict().returncode != 0


def test_a_crew_asks_for_its_own_and_a_stranger_finds_nothing(job, read):
    assert signed_in(make.crew(job)).get(f"/s/{job.code}/evidence").status_code == 200
    assert signed_in(make.person()).get(f"/s/{job.code}/evidence").status_code == 404


def test_the_weekly_sheet_leads_to_every_file(job, desk, read):
    page = words(desk.get(f"/s/{job.code}/weekly"))
    for each in ("PDF Letter", "PDF A4", "XLSX", "CSV", "JSON", "Evidence of checks", "Mailing list"):
        assert each in page
