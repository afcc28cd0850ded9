"""What can't be taken in, in words: a whole file, or one row of it."""

from dataclasses import dataclass
from typing import ClassVar

from sitetrack.kit.problems import Problem


class FileRefused(Problem):
    """A file that is not read any further; the sentence says what it is, what was expected, and the mend."""

    code: ClassVar[str] = "schedule-refused"
    status: ClassVar[int] = 422
    title: ClassVar[str] = "This file can't be taken as a schedule"


class ReadingError(ValueError):
    """One value that can't be read; caught where row and column are known."""

    def __init__(self, read: str, expected: str, mend: str = "") -> None:
        super().__init__(f"{read!r} was read, {expected} was expected")
        self.read = read
        self.expected = expected
        self.mend = mend


@dataclass(frozen=True, slots=True)
class RowRefused:
    """One row that is left out: where it stands, what was read there, what was expected, and how to mend it."""

    where: str
    row: int
    column: str
    field: str
    read: str
    expected: str
    mend: str
    number: str = ""

    def __str__(self) -> str:
        column = f", column “{self.column}”" if self.column else ""
        read = f"“{self.read}” was read" if self.read else "nothing was read"
        return f"{self.where}{column}: {read}, {self.expected} was expected. {self.mend}".rstrip()
