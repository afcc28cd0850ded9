"""Text made safe for a cell, whatever somebody typed. Pure."""

import re
from collections.abc import Container

# Characters that no XML document may hold (XML 1.0, production 2 "Char"), lone surrogates among them.
UNWRITABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# First characters that make a spreadsheet run a cell (CWE-1236; OWASP ASVS 1.2.10), and their full-width forms. NUL is
# already replaced as unwritable.
RUNS = re.compile(r"[ \u00a0]*[=+\-@\t\r\n＝＋－＠]")  # fmt: skip
MOST_IN_CELL = 32_767
CUT_MARK = " […]"
MOST_IN_SHEET_NAME = 31
NOT_IN_SHEET_NAME = re.compile(r"[\[\]:*?/\\\x00-\x1f]")


def clean(text: str) -> str:
    """Text that every format can hold alike: one kind of line end, and � for what no document may carry."""
    return UNWRITABLE.sub("\ufffd", text.replace("\r\n", "\n").replace("\r", "\n"))


def disarmed(text: str) -> str:
    """Text that a spreadsheet reading CSV shows and does not run: with a ' before it where it would."""
    return f"'{text}" if RUNS.match(text) else text


def cut(text: str, most: int = MOST_IN_CELL) -> str:
    """Text no longer than a cell holds, counted in UTF-16 units as spreadsheets do; a mark says where it was cut."""
    if len(text) * 2 <= most or _units(text) <= most:
        return text
    room = most - len(CUT_MARK)
    kept = text.encode("utf-16-le", "surrogatepass")[: room * 2].decode("utf-16-le", "ignore")
    return kept + CUT_MARK


def sheet_name(title: str, taken: Container[str], part: int = 1) -> str:
    """A sheet name for a title: at most 31 characters, none that is not allowed, none of those taken (lower case)."""
    plain = NOT_IN_SHEET_NAME.sub(" ", title).strip(" '") or "Sheet"
    while True:
        ending = f" ({part})" if part > 1 else ""
        name = plain[: MOST_IN_SHEET_NAME - len(ending)].rstrip(" '") + ending
        if name.lower() not in taken and name.lower() != "history":  # a name that spreadsheets keep for themselves
            return name
        part += 1


def _units(text: str) -> int:
    return len(text.encode("utf-16-le", "surrogatepass")) // 2
