"""What a file is, told by its first bytes; its name only has to agree."""

import zipfile
import zlib
from enum import Enum
from pathlib import Path

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake.limits import ARCHIVE_PARTS, FILE_BYTES
from openings.intake.refusals import FileRefused

HEAD_BYTES = 4096
# What the standard library raises on an archive with damaged headers; some of it by surprise.
BROKEN_ZIP = (
    zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, IndexError, NotImplementedError, RuntimeError,
)  # fmt: skip
ZIP_MAGIC = b"PK\x03\x04"
COMPOUND_MAGIC = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
STEP_MAGIC = b"ISO-10303-21"
ENCODING_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


class Kind(Enum):
    """A kind of file that can hold a schedule, by the name endings it may have."""

    TEXT = (".csv", ".tsv", ".txt")
    XLSX = (".xlsx",)
    XLS = (".xls",)
    ODS = (".ods",)
    MODEL = (".ifc",)
    MODEL_ZIP = (".ifczip", ".ifc.zip", ".zip")

    @property
    def endings(self) -> tuple[str, ...]:
        """The endings a file of this kind may have, the usual one first."""
        return self.value

    @property
    def words(self) -> str:
        """How it is spoken of, in the reader's language."""
        return str(KIND_WORDS[self])


KIND_WORDS = {
    Kind.TEXT: gettext_lazy("a table in a text file (CSV)"),
    Kind.XLSX: gettext_lazy("an XLSX workbook"),
    Kind.XLS: gettext_lazy("an XLS workbook"),
    Kind.ODS: gettext_lazy("an ODS workbook"),
    Kind.MODEL: gettext_lazy("a building model (IFC)"),
    Kind.MODEL_ZIP: gettext_lazy("a building model (IFC) in a zip"),
}
TAKEN = "CSV, XLSX, XLS, ODS, COBie (XLSX) or IFC"


def kind_of(path: Path, name: str) -> Kind:
    """Tell the kind of the file at `path` that came under `name`; raises FileRefused where the two disagree."""
    size = path.stat().st_size
    if size == 0:
        raise _refused(_("%(name)s is empty. Expected %(taken)s. Save the schedule again and send that file."), name)
    if size > FILE_BYTES:
        raise _refused(
            _(
                "%(name)s is %(size)d MB; at most %(most)d MB is taken. "
                "Save the door schedule alone, without pictures and other sheets."
            ),
            name,
            size=size // 1_000_000,
            most=FILE_BYTES // 1_000_000,
        )
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    kind = _kind_by_content(path, head, name)
    if not name.lower().endswith(kind.endings):
        raise _refused(
            _(
                "%(name)s does not end as its content does, which is %(kind)s. "
                "If that is the schedule, rename it to end in %(ending)s; if not, look for the right file."
            ),
            name,
            kind=kind.words,
            ending=kind.endings[0],
        )
    return kind


def _kind_by_content(path: Path, head: bytes, name: str) -> Kind:
    if head.startswith(ZIP_MAGIC):
        return _kind_of_zip(path, name)
    if head.startswith(COMPOUND_MAGIC):
        if name.lower().endswith((".xlsx", ".ods")):
            raise _refused(
                _(
                    "%(name)s is locked with a password, or is an old XLS under another name. "
                    "Save it without a password, or rename it to end in .xls."
                ),
                name,
            )
        return Kind.XLS
    text = head.removeprefix(ENCODING_MARKS[0]).lstrip()
    if text.startswith(STEP_MAGIC):
        return Kind.MODEL
    if head.startswith(ENCODING_MARKS) or b"\x00" not in head:
        if text[:1] == b"<":
            raise _refused(_("%(name)s is a web page or XML, not a table. Expected %(taken)s."), name)
        return Kind.TEXT
    raise _refused(_("%(name)s is of a kind that is not read here. Expected %(taken)s."), name)


def _kind_of_zip(path: Path, name: str) -> Kind:
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.namelist()
            mimetype = archive.read("mimetype")[:100] if _is_small(archive, "mimetype") else b""
    except BROKEN_ZIP as broken:
        told = _("%(name)s is cut off or damaged: its table of contents is missing. Copy or export it again.")
        raise _refused(told, name) from broken
    if len(parts) > ARCHIVE_PARTS:
        raise _refused(
            _("%(name)s holds %(parts)d parts; at most %(most)d are taken. Save it again."),
            name,
            parts=len(parts),
            most=ARCHIVE_PARTS,
        )
    if any(part.lower().endswith("vbaproject.bin") for part in parts):
        raise _refused(_("%(name)s holds macros. Save it as a plain .xlsx workbook, without macros."), name)
    if "xl/workbook.bin" in parts:
        raise _refused(_("%(name)s is a binary workbook. Save it as .xlsx."), name)
    if "xl/workbook.xml" in parts:
        return Kind.XLSX
    if mimetype.startswith(b"application/vnd.oasis.opendocument.spreadsheet"):
        return Kind.ODS
    if any(part.lower().endswith(".ifc") for part in parts):
        return Kind.MODEL_ZIP
    raise _refused(_("%(name)s is an archive without a workbook or a building model in it. Expected %(taken)s."), name)


def _refused(sentence: str, name: str, **more: object) -> FileRefused:
    return FileRefused(sentence % {"name": name, "taken": TAKEN, **more})


def _is_small(archive: zipfile.ZipFile, part: str) -> bool:
    return part in archive.namelist() and archive.getinfo(part).file_size < 1000
