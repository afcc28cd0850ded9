"""The command: preview, take in, plain words and JSON."""

import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inspections.models import Progress
from openings.models import DirtyOpening, Opening, ScheduleRevision, Site
from tests import builders
from tests.openings.intake import sheets

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return builders.site("clinic")


def load(path: Path, *options: str) -> str:
    out = io.StringIO()
    call_command("load_schedule", str(path), "--site", "clinic", *options, stdout=out)
    return out.getvalue()


def test_a_dry_run_tells_and_writes_nothing(site: Site, tmp_path: Path) -> None:
    told = load(sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN), "--dry-run")
    assert "3 added" in told
    assert "Nothing was written" in told
    assert not Opening.objects.exists()


def test_it_takes_in_and_works_everything_out(site: Site, tmp_path: Path) -> None:
    told = load(sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN), "--label", "ASI-1")
    assert "Taken in as ASI-1" in told
    assert Progress.objects.count() == 3
    assert not DirtyOpening.objects.exists()


def test_json_holds_the_whole_preview(site: Site, tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", [*sheets.PLAIN, ["", "1", "5'-0\"", "7'-0\"", "", "", ""]])
    answer = json.loads(load(path, "--json"))
    assert answer["counts"]["added"] == 3
    assert answer["refused"][0]["column"] == "Door No."
    assert answer["unknown"]["hand"] == 1
    assert answer["revision"] == ScheduleRevision.objects.get().n


def test_columns_defaults_and_unit_can_be_settled_on_the_line(site: Site, tmp_path: Path) -> None:
    path = sheets.csv_file(tmp_path / "doors.csv", [["Door", "Breite", "Hoehe"], ["101", "915", "2134"]])
    load(
        path, "--map", "width=Breite", "--map", "height=Hoehe", "--unit", "mm", "--default", "floor=3",
        "--default", "electrified=no",
    )  # fmt: skip
    opening = Opening.objects.select_related("floor").get()
    assert (opening.width.mm, opening.floor.code, opening.electrified) == (915, "3", False)


def test_a_refused_file_is_told_in_words_and_ends_with_one(site: Site, tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.csv", sheets.PLAIN)
    with pytest.raises(CommandError, match=r"rename it to end in \.xlsx") as refused:
        load(path)
    assert refused.value.returncode == 1


def test_a_refused_file_is_told_as_problem_details_in_json(site: Site, tmp_path: Path) -> None:
    path, out = sheets.xlsx(tmp_path / "doors.csv", sheets.PLAIN), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("load_schedule", str(path), "--site", "clinic", "--json", stdout=out)
    assert ended.value.code == 1
    assert json.loads(out.getvalue())["type"] == "/problems/schedule-refused"


def test_an_unknown_site_or_file_is_told(site: Site, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="no file"):
        load(tmp_path / "none.csv")
    with pytest.raises(CommandError, match="no site with the code"):
        call_command("load_schedule", str(tmp_path), "--site", "nowhere")
