"""Backup and restore: the round trip, made while a crew goes on writing; and what is no backup."""

import io
import json
import os
import shutil
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from sitetrack.kit.problems import BadInput
from sitetrack.operations.archives import MANIFEST, check_archive

ROOT = Path(__file__).resolve().parents[2]


class Server:
    """A data folder of its own, and commands run on it as an administrator runs them."""

    def __init__(self, folder: Path, url: str = "") -> None:
        folder.mkdir()
        self.folder = folder
        plain = {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "REDIS_URL"}}
        self.environment = plain | {"SITETRACK_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "sitetrack.settings"}
        if url:
            self.environment["DATABASE_URL"] = url

    def start(self, *command: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, *command], cwd=ROOT, env=self.environment, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip

    def manage(self, *command: str, ends_with: int = 0) -> str:
        process = self.start("manage.py", *command)
        said, _ = process.communicate(timeout=120)
        assert process.returncode == ends_with, said
        return said

    def photos(self) -> set[str]:
        return {path.stem for path in (self.folder / "uploads").rglob("*.jpg")}


def round_trip(first: Server, second: Server, kept: Path) -> dict[str, int]:
    """Back up while a crew writes, put it back elsewhere; the rows there, by table."""
    first.manage("migrate", "-v0")
    crew = first.start("-m", "tests.operations.keeps_writing")
    try:
        assert crew.stdout
        assert crew.stdout.readline() == "at work\n", crew.stdout.read()
        said = first.manage("backup", str(kept))
        assert crew.poll() is None, "the crew was stopped by the backup"
    finally:
        crew.kill()
        crew.communicate()
    assert "rows" in said
    assert oct(kept.stat().st_mode & 0o777) == "0o600"
    manifest = check_archive(kept)
    said = second.manage("restore", str(kept))
    assert "Every sealed record is whole, and every photo is there" in said
    with tarfile.open(kept) as tar:
        in_file = {Path(name).stem for name in tar.getnames() if name.endswith(".jpg")}
    assert second.photos() == in_file
    assert len(in_file) >= 5
    again = second.folder / "again.tar"
    second.manage("backup", str(again))
    counted = check_archive(again).rows
    assert counted == manifest.rows, "as many rows in every table as at the moment of the backup"
    return counted


def test_a_round_trip_while_a_crew_writes(tmp_path: Path) -> None:
    rows = round_trip(Server(tmp_path / "first"), Server(tmp_path / "second"), tmp_path / "kept.tar")
    assert rows["inspections_checkin"] >= 5
    assert rows["inspections_photo"] >= 5


@pytest.fixture
def two_databases() -> Iterator[list[str]]:
    base, name = os.environ["DATABASE_URL"].rsplit("/", 1)
    names = [f"backup_{role}_{os.getpid()}" for role in ("from", "into")]
    for made in names:
        subprocess.run(["psql", f"{base}/{name}", "-qc", f"CREATE DATABASE {made}"], check=True)
    yield [f"{base}/{made}" for made in names]
    for made in names:
        subprocess.run(["psql", f"{base}/{name}", "-qc", f"DROP DATABASE {made} WITH (FORCE)"], check=True)


@pytest.mark.services
def test_a_round_trip_on_postgresql(tmp_path: Path, two_databases: list[str]) -> None:
    into, kept = Server(tmp_path / "second", two_databases[1]), tmp_path / "kept.tar"
    round_trip(Server(tmp_path / "first", two_databases[0]), into, kept)
    assert "There are sites here already" in into.manage("restore", str(kept), ends_with=1)
    into.manage("restore", "--replace", str(kept))
    embedded = Server(tmp_path / "embedded")
    assert "They don't mix" in embedded.manage("restore", str(kept), ends_with=1)


def made_archive(path: Path, members: dict[str, bytes]) -> Path:
    with tarfile.open(path, "w") as tar:
        for name, content in members.items():
            member = tarfile.TarInfo(name)
            member.size = len(content)
            tar.addfile(member, io.BytesIO(content))
    return path


def manifest(**digests: str) -> bytes:
    told = {"form": 1, "made_at": "", "engine": "sqlite", "migrations": [], "rows": {}, "digests": digests}
    return json.dumps(told).encode()


def test_a_backup_cut_off_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="it has no end"):
        check_archive(made_archive(tmp_path / "a.tar", {"database.sqlite3": b"x"}))


@pytest.mark.parametrize(
    "members",
    [
        {"a": b"altered", MANIFEST: manifest(a="0" * 64)},
        {MANIFEST: manifest(a="0" * 64)},
        {"a": b"added", MANIFEST: manifest()},
    ],
    ids=["altered", "removed", "added"],
)
def test_a_damaged_backup_is_refused_naming_where(tmp_path: Path, members: dict[str, bytes]) -> None:
    with pytest.raises(BadInput, match="damaged in 1 places, the first a"):
        check_archive(made_archive(tmp_path / "a.tar", members))


def test_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.tar").write_bytes(b"PK\x03\x04 no tar at all")
    with pytest.raises(BadInput, match="can't be read as a backup"):
        check_archive(tmp_path / "a.tar")


def test_a_folder_that_is_not_there_is_named_and_nothing_is_kept(tmp_path: Path) -> None:
    server = Server(tmp_path / "data")
    server.manage("migrate", "-v0")
    said = server.manage("backup", str(tmp_path / "nowhere" / "kept.tar"), ends_with=1)
    assert "nowhere" in said
    assert "No such file" in said
    shutil.rmtree(server.folder)
