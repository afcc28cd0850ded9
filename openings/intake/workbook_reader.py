"""Reads a workbook in a process of its own and writes its sheets out as lines of JSON.

Run as a script, never imported: the library that lays workbooks out is fast, but on a file with a few bytes changed it
can ask for more memory than there is and end its whole process. Here it ends only this one.

Arguments: the workbook, the folder to write to, and the most bytes of memory to use. `index.json` lists the sheets in
order with the file of each, or names the fault.
"""

import json
import sys
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, PasswordError, SheetTypeEnum

if sys.platform == "linux":
    import resource


def main(workbook: Path, folder: Path, most_bytes: int) -> None:
    """Write every worksheet of the workbook out."""
    _limit_memory(most_bytes)
    try:
        with CalamineWorkbook.from_path(workbook) as book:
            index: dict[str, Any] = {"sheets": [_write_sheet(book, folder, n) for n in range(len(book.sheet_names))]}
    except PasswordError:
        index = {"fault": "password"}
    except (CalamineError, OSError):
        index = {"fault": "damaged"}
    (folder / "index.json").write_text(json.dumps(index))


def _limit_memory(most_bytes: int) -> None:
    if sys.platform == "linux":
        resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))


def _write_sheet(book: CalamineWorkbook, folder: Path, n: int) -> dict[str, Any]:
    about = book.sheets_metadata[n]
    is_macro = about.typ in (SheetTypeEnum.MacroSheet, SheetTypeEnum.Vba)
    if about.typ is not SheetTypeEnum.WorkSheet:
        return {"name": about.name, "is_macro": is_macro}
    height = 0
    with (folder / f"{n}.jsonl").open("w", encoding="utf-8") as lines:
        for row in _rows(book.get_sheet_by_index(n)):
            height += 1
            lines.write(json.dumps(row, ensure_ascii=False, default=_dated))
            lines.write("\n")
    return {"name": about.name, "is_macro": is_macro, "height": height, "file": f"{n}.jsonl"}


def _rows(sheet: CalamineSheet) -> Any:
    if sheet.start is not None:
        # The library counts rows from the top, but columns from the first filled one.
        before = [""] * sheet.start[1]
        for row in sheet.iter_rows():
            yield before + row


def _dated(value: object) -> dict[str, str]:
    if isinstance(value, datetime | date | time):
        return {type(value).__name__: value.isoformat()}
    if isinstance(value, timedelta):
        return {"timedelta": str(value.total_seconds())}
    raise TypeError(type(value).__name__)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))
