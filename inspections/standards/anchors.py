"""Jamb anchors per jamb, by source. The sources conflict; each stays a rule set of its own and is never mixed.

A table is a stair: so many anchors up to a frame height, and past the last step one more for each further step or
fraction. Where a height sits exactly on a step the text of the publication names two bands; the lower one is the
minimum and the higher one is advised.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inspections.standards.limits import Limit, Mark, Source, inches
from inspections.standards.sources import (
    A250_8,
    AGENCY_GUIDE,
    HMMA_861,
    PRACTICE,
    PROJECT_SPEC,
    PROJECT_SPEC_MEMORY,
    UFGS,
)


class Wall(StrEnum):
    """What the frame is anchored to."""

    STEEL_STUD = "steel_stud"
    WOOD_STUD = "wood_stud"
    MASONRY = "masonry"
    EXISTING = "existing"


@dataclass(frozen=True, slots=True)
class AnchorTable:
    """One published stair of anchors per jamb, heights in inches.

    Past the last step: `beyond` anchors plus one for each `growth` inches or fraction over it.
    """

    steps: tuple[tuple[int, int], ...]
    beyond: int
    growth: int
    source: Source
    end_distance: Limit | None = None
    spacing: Limit | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class BoltSpacing:
    """A rule by spacing: `end` inches from top and bottom, not over `spacing` between."""

    end: Limit
    spacing: Limit
    source: Source
    note: str = ""


AnchorRule = AnchorTable | BoltSpacing


@dataclass(frozen=True, slots=True)
class AnchorRuleSet:
    """One source's rules, wall by wall; a wall it does not name is absent."""

    code: str
    title: str
    walls: Mapping[Wall, AnchorRule]


_END = inches("18", PROJECT_SPEC)
_SPACING = inches("32", PROJECT_SPEC)
_UFGS_TABLE = AnchorTable(
    ((90, 3),), 3, 30, UFGS, note="the first half of the clause is from memory, its growth past 90 in was read"
)
_HMMA_STUD = AnchorTable(((60, 3), (90, 4), (96, 5)), 5, 24, HMMA_861)
_SDI_STUD = AnchorTable(((90, 4), (96, 5)), 5, 24, A250_8)

ANCHOR_RULE_SETS: Mapping[str, AnchorRuleSet] = {
    rules.code: rules
    for rules in (
        AnchorRuleSet(
            code="project_spec",
            title="project specification 08 11 13",
            walls={
                Wall.STEEL_STUD: AnchorTable(
                    ((60, 3), (90, 4), (96, 5)), 5, 24, PROJECT_SPEC, end_distance=_END, spacing=_SPACING
                ),
                Wall.MASONRY: AnchorTable(
                    ((60, 2), (90, 3), (120, 4)),
                    4,
                    24,
                    PROJECT_SPEC_MEMORY,
                    end_distance=inches("18", PROJECT_SPEC_MEMORY),
                    spacing=inches("32", PROJECT_SPEC_MEMORY),
                ),
                Wall.EXISTING: BoltSpacing(
                    inches("6", AGENCY_GUIDE),
                    inches("26", AGENCY_GUIDE),
                    AGENCY_GUIDE,
                    note="3/8 in countersunk expansion bolts at least",
                ),
            },
        ),
        AnchorRuleSet(code="ufgs", title="UFGS 08110", walls=dict.fromkeys(Wall, _UFGS_TABLE)),
        AnchorRuleSet(
            code="sdi",
            title="SDI A250.8",
            walls={
                Wall.STEEL_STUD: _SDI_STUD,
                Wall.WOOD_STUD: _SDI_STUD,
                Wall.MASONRY: AnchorTable(((90, 3), (96, 4)), 4, 24, A250_8),
                Wall.EXISTING: AnchorTable(
                    ((90, 5), (96, 6)), 6, 24, A250_8, note="4 to 5 up to 90 in and 5 to 6 up to 96 in, by the listing"
                ),
            },
        ),
        AnchorRuleSet(
            code="hmma",
            title="HMMA 861",
            walls={
                Wall.STEEL_STUD: _HMMA_STUD,
                Wall.WOOD_STUD: _HMMA_STUD,
                Wall.MASONRY: AnchorTable(((60, 2), (90, 3), (96, 4)), 4, 24, HMMA_861),
            },
        ),
    )
}

# Project specification for studs since three public copies agree; wood studs are not in it, so the stricter of the two
# sets that name them.
DEFAULT_RULE_SETS: Mapping[Wall, str] = {
    Wall.STEEL_STUD: "project_spec",
    Wall.WOOD_STUD: "sdi",
    Wall.MASONRY: "project_spec",
    Wall.EXISTING: "project_spec",
}

HEAD_OVER = inches("42", PROJECT_SPEC)
HEAD_ANCHORS = 2
BASE_ANCHORS_PER_JAMB = 1
BASE_SOURCE = UFGS
BASE_NOT_COUNTED = Source("SDI A250.8 and HMMA 861", "", Mark.MEMORY)

# Slip-on frames for a wall that is up: compression anchors near the top, count from memory.
SLIP_ON_PER_JAMB = 2
SLIP_ON_SOURCE = Source("project specification 08 11 13 for the kind of anchor, the count from memory", "", Mark.MEMORY)

SCREWS_PER_ANCHOR = Limit(Fraction(2), "screws", PRACTICE.name, PRACTICE.edition, PRACTICE.mark)
PRACTICE_LEAST_7_0 = Limit(Fraction(3), "anchors per jamb", PRACTICE.name, PRACTICE.edition, PRACTICE.mark)
