"""Where uploads are kept: whole or not at all, in a folder or on object storage."""

import os
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from sitetrack.kit.storage import keep, local_copy


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def test_a_disk_that_fills_leaves_nothing_behind(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        keep("photos/ab/x.jpg", BytesIO(b"picture"))
    assert [p for p in folder.rglob("*") if p.is_file()] == []


def test_keeping_again_replaces_and_leaves_one_file(folder: Path) -> None:
    keep("reports/a.json", BytesIO(b"old"))
    keep("reports/a.json", BytesIO(b"new"))
    assert {p.name: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == {"a.json": b"new"}


def test_two_uploads_of_one_name_are_two_files(folder: Path) -> None:
    names = {default_storage.save("plans/p.png", ContentFile(content)) for content in (b"one", b"two")}
    assert len(names) == 2
    assert {(folder / name).read_bytes() for name in names} == {b"one", b"two"}


def test_a_local_copy_of_a_file_in_the_folder_is_the_file_itself(folder: Path) -> None:
    keep("a.csv", BytesIO(b"1,2"))
    with local_copy("a.csv") as path:
        assert path == folder / "a.csv"


def test_a_bucket_keeps_replaces_and_lends_copies(bucket: Any) -> None:
    keep("reports/a.json", BytesIO(b"old"))
    keep("reports/a.json", BytesIO(b"new"))
    assert bucket.listdir("reports") == ([], ["a.json"])
    with local_copy("reports/a.json") as path:
        assert (path.read_bytes(), path.suffix) == (b"new", ".json")
    assert not path.exists()
