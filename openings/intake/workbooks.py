"""XLSX, XLS and ODS workbooks as raw tables.

The reader behind is fast but trusting, so it is only ever given a copy that was counted through first, with nothing in
it but the parts that hold values.
"""

import zipfile
from collections.abc import Iterator
from contextlib import ExitStack, closing
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, PasswordError, SheetTypeEnum

from openings.intake.archives import BoundedArchive
from openings.intake.kinds import Kind
from openings.intake.limits import SHEETS
from openings.intake.old_workbook import look_through
from openings.intake.refusals import FileRefused
from openings.intake.sheet_scan import BoundedXml, ExcelSheetHandler, Extent, OpenDocumentHandler
from openings.intake.tables import Cell, Row, Table, Unusable

EXCEL_PARTS = ("[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/_rels/workbook.xml.rels")
EXCEL_FOLDER = "xl/"
OPEN_DOCUMENT_PARTS = ("mimetype", "META-INF/manifest.xml", "content.xml", "styles.xml")


class Workbook:
    """An opened workbook; use it as a context manager, since it keeps a counted copy on disk while it is read."""

    def __init__(self, path: Path, kind: Kind, name: str) -> None:
        self._name = name
        with ExitStack() as stack:
            folder = Path(stack.enter_context(TemporaryDirectory(prefix="schedule-")))
            copy = folder / "counted"
            if kind is Kind.XLSX:
                self._extents = _copy_excel(path, copy, name)
            elif kind is Kind.ODS:
                self._extents = _copy_open_document(path, copy, name)
            else:
                self._extents, copy = look_through(path, name), path
            self._book = stack.enter_context(self._open(copy))
            self._stack = stack.pop_all()

    def __enter__(self) -> "Workbook":
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def tables(self) -> list[Table]:
        """The sheets, in the order of the workbook; each is laid out only when its rows are read."""
        if any(sheet.typ in (SheetTypeEnum.MacroSheet, SheetTypeEnum.Vba) for sheet in self._book.sheets_metadata):
            raise FileRefused(f"{self._name} holds macros. Save it as a plain .xlsx workbook, without macros.")
        names = [sheet.name for sheet in self._book.sheets_metadata if sheet.typ is SheetTypeEnum.WorkSheet]
        if len(names) > SHEETS:
            raise FileRefused(
                f"{self._name} has {len(names)} sheets; at most {SHEETS} are taken. Save the schedule alone."
            )
        return [self._table(name) for name in names]

    def _table(self, name: str) -> Table:
        extent = self._extents.get(name, Extent(name))
        laid_out: list[CalamineSheet] = []

        def rows() -> Iterator[Row]:
            if not laid_out:
                laid_out.append(self._sheet(name))
            return _rows(laid_out[0], extent.unusable)

        return Table(name, extent.rows, rows)

    def _sheet(self, name: str) -> CalamineSheet:
        try:
            return self._book.get_sheet_by_name(name)
        except CalamineError as broken:
            raise self._damaged() from broken

    def _open(self, path: Path) -> CalamineWorkbook:
        try:
            return CalamineWorkbook.from_path(path)
        except PasswordError as locked:
            raise FileRefused(f"{self._name} is locked with a password. Save it without one.") from locked
        except (CalamineError, OSError) as broken:
            raise self._damaged() from broken

    def _damaged(self) -> FileRefused:
        return FileRefused(
            f"{self._name} is cut off or damaged and can't be read. Open it, save it again and send that."
        )


def _rows(sheet: CalamineSheet, unusable: dict[tuple[int, int], Unusable]) -> Iterator[Row]:
    if sheet.start is None:
        return
    # The reader counts rows from the top but columns from the first filled one.
    before: tuple[Cell, ...] = ("",) * sheet.start[1]
    marked = {row for row, _ in unusable}
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        row: tuple[Cell, ...] = (*before, *cells)
        if number in marked:
            row = tuple(unusable.get((number, column), cell) for column, cell in enumerate(row, start=1))
        yield Row(number, row)


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
            raise FileRefused(f"{name} holds macros. Save it as a plain .xlsx workbook, without macros.")
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
