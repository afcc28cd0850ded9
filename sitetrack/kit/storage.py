"""Where uploads and reports are kept: files in a folder by default, object storage where the settings say so."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, default_storage


class WholeFileStorage(FileSystemStorage):
    """Files in a folder, each there whole or not at all.

    Django writes into the file's own place; a full disk or a kill would leave half of it there under its name. Here it
    is written beside its place, brought to the disk and then moved.
    """

    def _save(self, name: str, content: File) -> str:
        path = Path(self.path(name))
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".") as file:
            for part in content.chunks():
                file.write(part)
            file.flush()
            os.fsync(file.fileno())
            Path(file.name).chmod(self.file_permissions_mode or 0o640)
            while True:
                try:
                    # A link, not a move: it fails where somebody else has taken the name meanwhile.
                    path.hardlink_to(file.name)
                except FileExistsError:
                    name = self.get_available_name(name)
                    path = Path(self.path(name))
                else:
                    return name


def keep(name: str, content: Any) -> None:
    """Keep a file under that very name, in place of what is there; of two kept at once, one stays. Raises OSError."""
    if default_storage.exists(name):
        default_storage.delete(name)
    stored = default_storage.save(name, File(content))
    if stored != name:
        default_storage.delete(stored)


@contextmanager
def local_copy(name: str) -> Iterator[Path]:
    """A kept file as a path, for what can only read from one: its own place, or a copy for as long as it is read."""
    try:
        path = Path(default_storage.path(name))
    except NotImplementedError:
        with tempfile.NamedTemporaryFile(suffix=Path(name).suffix) as copy, default_storage.open(name) as kept:
            shutil.copyfileobj(kept, copy)
            copy.flush()
            yield Path(copy.name)
    else:
        yield path
