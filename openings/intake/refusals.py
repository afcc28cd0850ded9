"""What can't be taken in, in words: a whole file, or one row of it."""

from dataclasses import dataclass
from typing import ClassVar

from django.utils.translation import gettext as _

from sitetrack.kit.problems import Problem


class FileRefused(Problem):
    """A file that is not read any further; the sentence says what it is, what was expected, and the mend."""

    code: ClassVar[str] = "schedule-refused"
    status: ClassVar[int] = 422
    title: ClassVar[str] = "This file can't be taken as a schedule"


class ReadingError(ValueError):
    """One value that can't be read; caught where row and column are known."""

    def __init__(self, read: str, expected: str, mend: str = "") -> None:
        super().__init__(_("“%(read)s” was read, expected: %(expected)s") % {"read": read, "expected": expected})
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
        column = _(", column “%(name)s”") % {"name": self.column} if self.column else ""
        read = _("“%(read)s” was read.") % {"read": self.read} if self.read else _("Nothing was read.")
        expected = _("Expected: %(expected)s.") % {"expected": self.expected}
        return f"{self.where}{column}: {read} {expected} {self.mend}".rstrip()
