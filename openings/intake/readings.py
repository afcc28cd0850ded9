"""What reading a schedule yields, row by row, whatever kind of file it came in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from openings.intake.refusals import RowRefused
from openings.intake.settled import Settled
from openings.selectors.facts import ListedOpening


@dataclass(frozen=True, slots=True)
class NotOurs:
    """A door that is proposed to be left out, or was settled to be; `group` is what it is settled by."""

    opening: ListedOpening
    group: str
    reason: str


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A row that is no opening: a note, a heading repeated, a title between floors."""

    where: str
    text: str


Reading = ListedOpening | RowRefused | NotOurs | PassedOver


@dataclass(frozen=True, slots=True)
class Choices:
    """What a person can choose from for one file, beside the proposal."""

    proposed: Settled
    headings: tuple[str, ...] = ()
    samples: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    sheets: tuple[str, ...] = ()
    number_sources: Mapping[str, str] = field(default_factory=dict)
    headings_digest: str = ""


class Source(Protocol):
    """An opened schedule. `readings` may be called again and again and yields the same rows in the same order."""

    words: Any  # how its kind of file is spoken of, in the reader's language
    total: int

    def choices(self, remembered: Mapping[str, object] | None = None, *, sheet: str = "") -> Choices:
        """The proposal and what else could be chosen; `remembered` is what was settled for the same headings before."""

    def digest(self, *, sheet: str = "") -> str:
        """What a settled mapping is remembered by."""

    def readings(self, settled: Settled) -> Iterator[Reading]:
        """Read every row as settled."""
