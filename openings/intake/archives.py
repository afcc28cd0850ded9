"""Zip archives, unpacked under a bound.

What the directory of an archive says of sizes is checked first, and then not believed: every part is counted while it
is inflated, and nothing of the foreign archive reaches another reader except bytes that were counted here.
"""

import zipfile
from collections.abc import Generator
from pathlib import Path

from django.utils.translation import gettext as _

from openings.intake.kinds import BROKEN_ZIP
from openings.intake.limits import MIB, RATIO_JUDGED_FROM, UNPACKED_BYTES, UNPACKED_RATIO
from openings.intake.refusals import FileRefused

CHUNK = MIB


class BoundedArchive:
    """A zip archive whose parts together may unpack to no more than a bound."""

    def __init__(self, path: Path, name: str, *, most: int = UNPACKED_BYTES) -> None:
        self._name = name
        self._left = most
        self._zip = zipfile.ZipFile(path)  # `kind_of` has opened it before, so its directory can be read
        try:
            self.parts = self._checked_parts(most)
        except FileRefused:
            self._zip.close()
            raise

    def __enter__(self) -> "BoundedArchive":
        return self

    def __exit__(self, *_exc: object) -> None:
        self._zip.close()

    def chunks(self, part: str) -> Generator[bytes, None, None]:
        """Yield the bytes of one part; raises FileRefused where they are damaged or more than the bound."""
        try:
            with self._zip.open(part) as stream:
                while chunk := stream.read(CHUNK):
                    self._left -= len(chunk)
                    if self._left < 0:
                        raise self._bomb(UNPACKED_BYTES)
                    yield chunk
        except BROKEN_ZIP as broken:
            told = _("%(name)s is damaged inside (%(part)s can't be unpacked). Copy or export it again.")
            raise FileRefused(told % {"name": self._name, "part": part}) from broken

    def _checked_parts(self, most: int) -> list[str]:
        infos = self._zip.infolist()
        total = sum(info.file_size for info in infos)
        if total > most or any(_too_dense(info.file_size, info.compress_size) for info in infos):
            raise self._bomb(total)
        if any(info.flag_bits & 1 for info in infos):
            raise FileRefused(_("%(name)s is locked with a password. Save it without one.") % {"name": self._name})
        if len({info.filename for info in infos}) < len(infos):
            raise FileRefused(
                _("%(name)s names one of its parts twice, so it is not plain which counts. Save it again.")
                % {"name": self._name}
            )
        return [info.filename for info in infos if info.filename and not info.is_dir()]

    def _bomb(self, total: int) -> FileRefused:
        return FileRefused(
            _(
                "%(name)s would unpack to %(size)d MiB or more, far beyond any door schedule. "
                "At most %(most)d MiB is unpacked. Save the door schedule alone."
            )
            % {"name": self._name, "size": total // MIB, "most": UNPACKED_BYTES // MIB}
        )


def _too_dense(unpacked: int, packed: int) -> bool:
    return unpacked > RATIO_JUDGED_FROM and unpacked > UNPACKED_RATIO * max(packed, 1)
