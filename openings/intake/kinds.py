"""What a file is, told by its first bytes; its name only has to agree."""

import zipfile
import zlib
from enum import Enum
from pathlib import Path, PurePath

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
    """A kind of file that can hold a schedule: how it is spoken of, and the name endings it may have."""

    TEXT = ("a table as text (CSV)", (".csv", ".tsv", ".txt"))
    XLSX = ("an XLSX workbook", (".xlsx",))
    XLS = ("an XLS workbook", (".xls",))
    ODS = ("an ODS workbook", (".ods",))
    MODEL = ("a building model (IFC)", (".ifc",))
    MODEL_ZIP = ("a building model (IFC) in a zip", (".ifczip", ".ifc.zip", ".zip"))

    def __init__(self, words: str, endings: tuple[str, ...]) -> None:
        self.words = words
        self.endings = endings


TAKEN = "CSV, XLSX, XLS, ODS, COBie (XLSX) or IFC"


def kind_of(path: Path, name: str) -> Kind:
    """Tell the kind of the file at `path` that came under `name`; raises FileRefused where the two disagree."""
    size = path.stat().st_size
    if size == 0:
        raise FileRefused(f"{name} is empty. Expected {TAKEN}. Save the schedule again and send that file.")
    if size > FILE_BYTES:
        raise FileRefused(
            f"{name} is {size // 1_000_000} MB; at most {FILE_BYTES // 1_000_000} MB is taken. "
            "Save the door schedule alone, without pictures and other sheets."
        )
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    kind = _kind_by_content(path, head, name)
    if not name.lower().endswith(kind.endings):
        ending = PurePath(name).suffix or "no ending"
        raise FileRefused(
            f"{name} is named {ending} but its content is {kind.words}. "
            f"If that is the schedule, rename it to end in {kind.endings[0]}; if not, look for the right file."
        )
    return kind


def _kind_by_content(path: Path, head: bytes, name: str) -> Kind:
    if head.startswith(ZIP_MAGIC):
        return _kind_of_zip(path, name)
    if head.startswith(COMPOUND_MAGIC):
        if name.lower().endswith((".xlsx", ".ods")):
            raise FileRefused(
                f"{name} is locked with a password, or is an old XLS under another name. "
                "Save it without a password, or rename it to end in .xls."
            )
        return Kind.XLS
    text = head.removeprefix(ENCODING_MARKS[0]).lstrip()
    if text.startswith(STEP_MAGIC):
        return Kind.MODEL
    if head.startswith(ENCODING_MARKS) or b"\x00" not in head:
        if text[:1] == b"<":
            raise FileRefused(f"{name} is a web page or XML, not a table. Expected {TAKEN}.")
        return Kind.TEXT
    raise FileRefused(f"{name} is of a kind that is not read here. Expected {TAKEN}.")


def _kind_of_zip(path: Path, name: str) -> Kind:
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.namelist()
            mimetype = archive.read("mimetype")[:100] if _is_small(archive, "mimetype") else b""
    except BROKEN_ZIP as broken:
        raise FileRefused(
            f"{name} is cut off or damaged: its table of contents is missing. Copy or export it again."
        ) from broken
    if len(parts) > ARCHIVE_PARTS:
        raise FileRefused(f"{name} holds {len(parts)} parts; at most {ARCHIVE_PARTS} are taken. Save it again.")
    if any(part.lower().endswith("vbaproject.bin") for part in parts):
        raise FileRefused(f"{name} holds macros. Save it as a plain .xlsx workbook, without macros.")
    if "xl/workbook.bin" in parts:
        raise FileRefused(f"{name} is a binary workbook. Save it as .xlsx.")
    if "xl/workbook.xml" in parts:
        return Kind.XLSX
    if mimetype.startswith(b"application/vnd.oasis.opendocument.spreadsheet"):
        return Kind.ODS
    if any(part.lower().endswith(".ifc") for part in parts):
        return Kind.MODEL_ZIP
    raise FileRefused(f"{name} is an archive without a workbook or a building model in it. Expected {TAKEN}.")


def _is_small(archive: zipfile.ZipFile, part: str) -> bool:
    return part in archive.namelist() and archive.getinfo(part).file_size < 1000
