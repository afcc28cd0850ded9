"""A backup: one tar file with the data base as of one moment, every uploaded file, and a list of both with digests.

The data base comes first. A photo's row is stored after its file, and files are only ever added, so every file that the
copied rows name is there when the files are read afterwards; newer ones come along and do no harm. SECRET_KEY is not in
it: keep that elsewhere, or a stolen backup would sign for the server.
"""

import hashlib
import io
import json
import tarfile
import tempfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from sitetrack.kit.clock import rfc3339
from sitetrack.kit.problems import BadInput
from sitetrack.operations.engines import Counts, Engine, engine

FORM = 1
MANIFEST = "manifest.json"
FILES = "files/"
PART = 1 << 20


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds. `digests` are SHA-256 in hexadecimal, by member; `rows` are counts by table."""

    form: int
    made_at: str
    engine: str
    migrations: list[str]
    rows: Counts
    digests: dict[str, str]


def write_archive(*, path: Path, now: datetime) -> Manifest:
    """Write a backup beside `path` and move it there when it is whole. Raises `CopyFailed`, OSError."""
    source = engine()
    with (
        tempfile.TemporaryDirectory(dir=path.parent, prefix=".backup-") as folder,
        tempfile.NamedTemporaryFile(dir=path.parent, prefix=".backup-", delete=False) as made,
    ):
        try:
            copied = Path(folder) / source.member
            rows = source.copy_to(copied)
            with tarfile.open(fileobj=made, mode="w") as tar:
                digests = {source.member: _add(tar, source.member, copied.open("rb"), copied.stat().st_size)}
                for name in stored_names():
                    digests |= _add_stored(tar, name)
                manifest = Manifest(FORM, rfc3339(now), source.name, _migrations(), rows, digests)
                text = json.dumps(asdict(manifest), indent=1).encode()
                _add(tar, MANIFEST, io.BytesIO(text), len(text))
            made.close()
            Path(made.name).chmod(0o600)  # it holds what everybody reported
            Path(made.name).replace(path)
        finally:
            Path(made.name).unlink(missing_ok=True)
    return manifest


def check_archive(path: Path) -> Manifest:
    """Read the whole of a backup and hold it against its list. Raises `BadInput` naming what does not fit, OSError."""
    found: dict[str, str] = {}
    manifest: Manifest | None = None
    try:
        with tarfile.open(path) as tar:
            for member in tar:
                content = tar.extractfile(member)
                if content is None:
                    raise BadInput(f"{path.name}: {member.name} is no file. This is no backup of ours.")
                if member.name == MANIFEST:
                    manifest = Manifest(**json.load(content))
                else:
                    found[member.name] = _digest(content)
    except (tarfile.TarError, ValueError, TypeError, EOFError) as error:
        raise BadInput(f"{path.name}: it can't be read as a backup ({error}). Take another one.") from error
    if manifest is None:
        raise BadInput(f"{path.name}: it has no end. It was cut off while it was written or copied: take another one.")
    if manifest.form != FORM:
        raise BadInput(f"{path.name}: it is of form {manifest.form}; this release reads form {FORM}.")
    wrong = sorted(n for n in found.keys() | manifest.digests.keys() if found.get(n) != manifest.digests.get(n))
    if wrong:
        raise BadInput(f"{path.name}: damaged in {len(wrong)} places, the first {wrong[0]}. Take another one.")
    return manifest


def put_back(path: Path, manifest: Manifest) -> int:
    """Put a checked backup in place; the number of its files. Those that are there already are left as they are."""
    place: Engine = engine()
    if manifest.engine != place.name:
        raise BadInput(f"It was made from {manifest.engine}; DATABASE_URL names {place.name}. They don't mix.")
    count = 0
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR, prefix=".restore-") as folder, tarfile.open(path) as tar:
        # Files first: rows never name a photo that is not there yet.
        for member in tar:
            content = tar.extractfile(member)
            if content is None:
                continue
            if member.name == place.member:
                with (Path(folder) / place.member).open("wb") as file:
                    while part := content.read(PART):
                        file.write(part)
            elif member.name.startswith(FILES):
                name = member.name.removeprefix(FILES)
                if not default_storage.exists(name):
                    default_storage.save(name, content)
                count += 1
        place.restore_from(Path(folder) / place.member)
    return count


def stored_names(folder: str = "") -> Iterator[str]:
    """Every uploaded file, wherever uploads are kept."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    for file in sorted(files):
        if not file.startswith("."):  # one that is just being written
            yield f"{folder}/{file}" if folder else file
    for inner in sorted(folders):
        yield from stored_names(f"{folder}/{inner}" if folder else inner)


def _migrations() -> list[str]:
    return sorted(f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations())


def _add_stored(tar: tarfile.TarFile, name: str) -> dict[str, str]:
    try:
        with default_storage.open(name) as file:
            return {FILES + name: _add(tar, FILES + name, file, file.size)}
    except FileNotFoundError:  # cleared away since it was listed, as its row is by now
        return {}


def _add(tar: tarfile.TarFile, name: str, content: IO[bytes] | File, size: int) -> str:
    member = tarfile.TarInfo(name)
    member.size = size
    reader = _Digesting(content)
    tar.addfile(member, reader)  # type: ignore[arg-type]
    content.close()
    return reader.digest.hexdigest()


class _Digesting:
    """A file that takes its digest while it is read."""

    def __init__(self, content: IO[bytes] | File) -> None:
        self.content = content
        self.digest = hashlib.sha256()

    def read(self, size: int) -> bytes:
        """The next bytes."""
        part = self.content.read(size)
        self.digest.update(part)
        return part


def _digest(content: IO[bytes] | File) -> str:
    digest = hashlib.sha256()
    while part := content.read(PART):
        digest.update(part)
    return digest.hexdigest()
