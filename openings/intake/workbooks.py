"""XLSX, XLS and ODS workbooks as raw tables.

The reader behind is fast but trusting. So the file is counted through first; the reader is given a copy with nothing in
it but the parts that hold values; and it works in a process of its own (`workbook_reader`), under a bound on memory.
"""

import json
import subprocess
import sys
import zipfile
from collections import defaultdict
from collections.abc import Iterator
from contextlib import ExitStack, closing
from datetime import date, datetime, time, timedelta
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from openings.intake.archives import BoundedArchive
from openings.intake.kinds import Kind
from openings.intake.limits import READER_BYTES, READER_SECONDS, SHEETS
from openings.intake.old_workbook import look_through
from openings.intake.refusals import FileRefused
from openings.intake.sheet_scan import BoundedXml, ExcelSheetHandler, Extent, OpenDocumentHandler
from openings.intake.tables import Cell, Row, Table, Unusable

MACROS = gettext_noop("%(name)s holds macros. Save it as a plain .xlsx workbook, without macros.")
READER = Path(__file__).with_name("workbook_reader.py")
EXCEL_PARTS = ("[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/_rels/workbook.xml.rels")
OPEN_DOCUMENT_PARTS = ("mimetype", "META-INF/manifest.xml", "content.xml", "styles.xml")


class Workbook:
    """An opened workbook; use it as a context manager, since its rows wait in a folder while they are read."""

    def __init__(self, path: Path, kind: Kind, name: str) -> None:
        self._name = name
        with ExitStack() as stack:
            self._folder = Path(stack.enter_context(TemporaryDirectory(prefix="schedule-")))
            copy = self._folder / f"counted{kind.endings[0]}"
            if kind is Kind.XLSX:
                self._extents = _copy_excel(path, copy, name)
            elif kind is Kind.ODS:
                self._extents = _copy_open_document(path, copy, name)
            else:
                self._extents, copy = look_through(path, name), path
            self._sheets = self._read(copy)
            self._stack = stack.pop_all()

    def __enter__(self) -> "Workbook":
        return self

    def __exit__(self, *_exc: object) -> None:
        self._stack.close()

    def tables(self) -> list[Table]:
        """The sheets, in the order of the workbook."""
        if any(sheet["is_macro"] for sheet in self._sheets):
            raise FileRefused(_(MACROS) % {"name": self._name})
        sheets = [sheet for sheet in self._sheets if "file" in sheet]
        if len(sheets) > SHEETS:
            raise FileRefused(
                _("%(name)s has %(n)d sheets; at most %(most)d are taken. Save the schedule alone.")
                % {"name": self._name, "n": len(sheets), "most": SHEETS}
            )
        return [self._table(sheet) for sheet in sheets]

    def _table(self, sheet: dict[str, Any]) -> Table:
        unusable = self._extents.get(sheet["name"], Extent(sheet["name"])).unusable
        return Table(sheet["name"], sheet["height"], lambda: _rows(self._folder / sheet["file"], unusable))

    def _read(self, copy: Path) -> list[dict[str, Any]]:
        """Have the workbook read by a process of its own, which may fail on a damaged file without harm to this one."""
        command = [sys.executable, str(READER), str(copy), str(self._folder), str(READER_BYTES)]
        index = self._folder / "index.json"
        try:
            subprocess.run(  # noqa: S603 - our own script; the file is only ever an argument
                command, timeout=READER_SECONDS, check=True, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )  # fmt: skip
            found: dict[str, Any] = json.loads(index.read_text())
        except (subprocess.SubprocessError, OSError, ValueError) as failed:
            raise self._damaged() from failed
        if found.get("fault") == "password":
            raise FileRefused(_("%(name)s is locked with a password. Save it without one.") % {"name": self._name})
        if "sheets" not in found:
            raise self._damaged()
        sheets: list[dict[str, Any]] = found["sheets"]
        return sheets

    def _damaged(self) -> FileRefused:
        return FileRefused(
            _("%(name)s is cut off or damaged and can't be read. Open it, save it again and send that.")
            % {"name": self._name}
        )


def _rows(lines: Path, unusable: dict[tuple[int, int], Unusable]) -> Iterator[Row]:
    """Read the written-out rows, with what can't be used put in its place; the reader left such cells out."""
    marked: dict[int, dict[int, Unusable]] = defaultdict(dict)
    for (number, column), cell in unusable.items():
        marked[number][column] = cell
    number = 0
    with lines.open(encoding="utf-8") as file:
        for number, line in enumerate(file, start=1):
            yield Row(number, _marked(json.loads(line, object_hook=_dated), marked.get(number)))
    for behind in range(number + 1, max(marked, default=0) + 1):
        yield Row(behind, _marked([], marked.get(behind)))


def _marked(row: list[Cell], marks: dict[int, Unusable] | None) -> tuple[Cell, ...]:
    if marks:
        row += [""] * (max(marks) - len(row))
        for column, cell in marks.items():
            row[column - 1] = cell
    return tuple(row)


def _dated(value: dict[str, str]) -> date | time | timedelta:
    """A date or time the reader wrote out by its kind."""
    match value:
        case {"datetime": text}:
            return datetime.fromisoformat(text)
        case {"date": text}:
            return date.fromisoformat(text)
        case {"time": text}:
            return time.fromisoformat(text)
    return timedelta(seconds=float(value["timedelta"]))


class _SheetNames(ContentHandler):
    """Which part of the workbook holds which sheet; macro sheets are refused by their kind of relationship."""

    def __init__(self) -> None:
        super().__init__()
        self.names: dict[str, str] = {}
        self.targets: dict[str, str] = {}
        self.has_macros = False

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - the interface of SAX
        local = name.rpartition(":")[2]
        if local == "sheet" and "name" in attrs:
            key = next((value for key, value in attrs.items() if key.rpartition(":")[2] == "id"), "")
            self.names[key] = attrs["name"]
        elif local == "Relationship" and "Id" in attrs:
            self.targets[attrs["Id"]] = attrs.get("Target", "")
            self.has_macros |= attrs.get("Type", "").lower().endswith("macrosheet")

    def sheet_parts(self) -> dict[str, str]:
        """Sheet name by part of the archive; targets are relative to `xl/` or absolute."""
        parts = {}
        for key, name in self.names.items():
            target = self.targets.get(key, "")
            part = target.lstrip("/") if target.startswith("/") else str(PurePosixPath("xl") / target)
            parts[part] = name
        return parts


def _copy_excel(path: Path, copy: Path, name: str) -> dict[str, Extent]:
    extents: dict[str, Extent] = {}
    with BoundedArchive(path, name) as archive, zipfile.ZipFile(copy, "w") as counted:
        names = _SheetNames()
        for part in EXCEL_PARTS:
            _copy(archive, counted, part, names, name)
        if names.has_macros:
            raise FileRefused(_(MACROS) % {"name": name})
        sheets = names.sheet_parts()
        for part in archive.parts:
            if part in sheets:
                extents[sheets[part]] = extent = Extent(sheets[part])
                _copy(archive, counted, part, ExcelSheetHandler(extent), name)
            elif part not in EXCEL_PARTS and part.lower() in ("xl/sharedstrings.xml", "xl/styles.xml"):
                _copy(archive, counted, part, ContentHandler(), name)
    return extents


def _copy_open_document(path: Path, copy: Path, name: str) -> dict[str, Extent]:
    handler = OpenDocumentHandler()
    with BoundedArchive(path, name) as archive, zipfile.ZipFile(copy, "w") as counted:
        for part in OPEN_DOCUMENT_PARTS:
            _copy(archive, counted, part, handler if part == "content.xml" else ContentHandler(), name)
    return {extent.sheet: extent for extent in handler.extents}


def _copy(archive: BoundedArchive, counted: zipfile.ZipFile, part: str, handler: ContentHandler, name: str) -> None:
    if part not in archive.parts:
        return
    # Closed by name: a refusal halfway would else leave the foreign file open until the garbage is collected.
    with closing(archive.chunks(part)) as chunks, counted.open(part, "w", force_zip64=True) as target:
        is_xml = part.endswith((".xml", ".rels"))
        for chunk in BoundedXml(handler, name, part).feed(chunks) if is_xml else chunks:
            target.write(chunk)
