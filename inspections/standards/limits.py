"""What a published value is made of: the number, its unit, where it stands, and how well that was confirmed."""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import TypedDict

from sitetrack.kit.lengths import Length, from_inches, from_mm


class Mark(StrEnum):
    """How a value was come by; shown beside it, so that nobody mistakes memory for a clause that was read."""

    READ = "read"
    MIRROR = "mirror"
    SECONDARY = "secondary"
    MEMORY = "memory"
    DERIVED = "derived"
    COMMON_PRACTICE = "common_practice"
    SITE = "site"


class Citation(TypedDict):
    """A source in an answer."""

    name: str
    edition: str
    mark: str


@dataclass(frozen=True, slots=True)
class Source:
    """A publication as it is named beside a value, its edition where known, and the honesty mark."""

    name: str
    edition: str
    mark: Mark

    def cited(self) -> Citation:
        """The source in the shape every answer gives it."""
        return {"name": self.name, "edition": self.edition, "mark": self.mark.value}


@dataclass(frozen=True, slots=True)
class Limit:
    """One value that judges work, with its unit and where it comes from."""

    value: Fraction
    unit: str
    source: str
    edition: str
    mark: Mark
    # Worked out once: every check asks for it a dozen times.
    _length: Length | None = field(init=False, repr=False, compare=False, default=None)

    def __post_init__(self) -> None:
        if self.unit in ("in", "mm"):
            turned = from_inches(self.value) if self.unit == "in" else from_mm(self.value)
            object.__setattr__(self, "_length", turned)

    @property
    def length(self) -> Length:
        """The value as a length; ValueError when the unit is no length."""
        if self._length is None:
            raise ValueError(f"{self.unit!r} is not a unit of length")
        return self._length

    def cited(self) -> Citation:
        """The limit's source in the shape every answer gives it."""
        return {"name": self.source, "edition": self.edition, "mark": self.mark.value}


def limit_of(value: Fraction | str, unit: str, source: Source) -> Limit:
    """Join a value to its source; `value` may be written as a fraction, such as "1/16"."""
    return Limit(Fraction(value), unit, source.name, source.edition, source.mark)


def inches(value: Fraction | str, source: Source) -> Limit:
    """Join a value in inches to its source."""
    return limit_of(value, "in", source)
