"""A file is told by its content, and refused in words where it should not be read further."""

import zipfile
from pathlib import Path

import pytest

from openings.intake.kinds import Kind, kind_of
from openings.intake.refusals import FileRefused
from tests.openings.intake import sheets


@pytest.mark.parametrize(
    ("name", "write", "kind"),
    [
        ("doors.csv", sheets.csv_file, Kind.TEXT),
        ("doors.xlsx", sheets.xlsx, Kind.XLSX),
        ("doors.xls", sheets.xls, Kind.XLS),
        ("doors.ods", sheets.ods, Kind.ODS),
    ],
)
def test_each_kind_is_told_by_its_content(tmp_path: Path, name: str, write, kind: Kind) -> None:
    assert kind_of(write(tmp_path / name, sheets.PLAIN), name) is kind


@pytest.mark.parametrize(
    ("write", "name"),
    [
        (sheets.xlsx, "doors.csv"),
        (sheets.csv_file, "doors.xlsx"),
        (sheets.xls, "doors.xlsx"),
        (sheets.ods, "doors.xls"),
    ],
)
def test_a_wrong_ending_is_refused_and_the_mend_named(tmp_path: Path, write, name: str) -> None:
    path = write(tmp_path / "file", sheets.PLAIN)
    with pytest.raises(FileRefused, match=r"rename|locked with a password"):
        kind_of(path, name)


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "doors.csv").touch()
    with pytest.raises(FileRefused, match="is empty"):
        kind_of(tmp_path / "doors.csv", "doors.csv")


def test_a_workbook_with_macros_is_refused(tmp_path: Path) -> None:
    path = sheets.xlsx(tmp_path / "doors.xlsx", sheets.PLAIN)
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"any")
    with pytest.raises(FileRefused, match="macros"):
        kind_of(path, "doors.xlsx")


def test_a_binary_workbook_is_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "doors.xlsx", "w") as archive:
        archive.writestr("xl/workbook.bin", b"any")
    with pytest.raises(FileRefused, match="binary workbook"):
        kind_of(tmp_path / "doors.xlsx", "doors.xlsx")


def test_an_archive_of_something_else_is_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "doors.zip", "w") as archive:
        archive.writestr("letter.txt", b"any")
    with pytest.raises(FileRefused, match="without a workbook or a building model"):
        kind_of(tmp_path / "doors.zip", "doors.zip")


def test_a_web_page_saved_as_a_table_is_refused(tmp_path: Path) -> None:
    (tmp_path / "doors.csv").write_text("<html><table></table></html>")
    with pytest.raises(FileRefused, match="web page"):
        kind_of(tmp_path / "doors.csv", "doors.csv")


def test_a_picture_is_refused(tmp_path: Path) -> None:
    (tmp_path / "doors.csv").write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0d")
    with pytest.raises(FileRefused, match="not read here"):
        kind_of(tmp_path / "doors.csv", "doors.csv")
