"""What the demo's hands report, before it is sent: entries of a log, each made on one phone at one true moment."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from random import Random
from uuid import UUID

from inspections.trueness.opening import NominalOpening
from openings.sequence.conditions import Attributes
from openings.sequence.structure import Structure
from sitetrack.demo.measuring import Stance
from sitetrack.kit.clock import to_ms

VERSION_7, VARIANT = 7 << 76, 2 << 62


@dataclass(frozen=True, slots=True)
class Said:
    """What a check-in says beyond what happened; `opening` where the number was misread."""

    about: UUID | None = None
    readings: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, bool] = field(default_factory=dict)
    note: str = ""
    opening: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One check-in to be: `at` is the true moment, whatever the phone's clock said."""

    id: UUID
    phone: str
    at: datetime
    opening: str
    stage: str
    action: str
    said: Said


@dataclass(frozen=True, slots=True)
class Logged:
    """A check-in that was made, and when the server knows of it; None while it waits in the phone."""

    id: UUID
    known: datetime | None


@dataclass(slots=True)
class Frame:
    """One opening as the crews meet it, and how its frame stands once it is set."""

    number: str
    floor: str
    place: int
    attributes: Attributes
    opening: NominalOpening
    structure: Structure
    stance: Stance = field(default_factory=Stance)
    known: dict[str, datetime] = field(default_factory=dict)
    boarded_by: str = ""
    misses: dict[str, int] = field(default_factory=dict)

    @property
    def rated(self) -> bool:
        """Whether the inspector signs it himself."""
        return bool(self.attributes["rating_minutes"])


def seeded_id(moment: datetime, rng: Random) -> UUID:
    """A UUID version 7 (RFC 9562) of that moment, its random part from the seed, so that every load makes the same."""
    return UUID(int=(to_ms(moment) << 80) | VERSION_7 | (rng.getrandbits(12) << 64) | VARIANT | rng.getrandbits(62))
