"""A stage of the work at one opening: what it is called, who does it, what it waits for and what it proves."""

from dataclasses import dataclass
from enum import StrEnum

from openings.sequence.conditions import Condition


class Kind(StrEnum):
    """Work changes the opening; a check reads it and changes nothing."""

    WORK = "work"
    CHECK = "check"


class Trade(StrEnum):
    """Who does a stage."""

    FRAME_CREW = "frame_crew"
    FRAMING = "framing"
    MASON = "mason"
    ELECTRICIAN = "electrician"
    DRYWALL = "drywall"
    PAINTER = "painter"
    FLOORING = "flooring"
    DOOR_HANGER = "door_hanger"
    SUPERVISOR = "supervisor"
    INSPECTOR = "inspector"


class Role(StrEnum):
    """What a person is on one site."""

    SUPERVISOR = "supervisor"
    INSPECTOR = "inspector"
    CREW = "crew"
    VIEWER = "viewer"


class WhenUnknown(StrEnum):
    """Whether a stage is taken to be needed while its condition cannot be told."""

    NEEDED = "needed"
    NOT_NEEDED = "not_needed"


@dataclass(frozen=True, slots=True)
class Words:
    """One text in the two languages of the site."""

    en: str
    es: str


NO_WORDS = Words("", "")


@dataclass(frozen=True, slots=True)
class ChecklistItem:
    """One question asked at the opening, and the answer that is right."""

    code: str
    text: Words
    expect: bool = True


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a plan, as the plan writes it.

    `after` names the stages it waits for, `covers` the stages whose result it proves. `closes_wall` marks work that
    hides what came before it. `weight` is its share of the progress of an opening, in no unit. `applies_when` is None
    for a stage that every opening has.
    """

    code: str
    title: Words
    trade: Trade
    kind: Kind = Kind.WORK
    after: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    hold_point: bool = False
    closes_wall: bool = False
    sign_roles: tuple[Role, ...] = ()
    checklist: tuple[ChecklistItem, ...] = ()
    required_readings: tuple[str, ...] = ()
    weight: int = 1
    applies_when: Condition | None = None
    if_unknown: WhenUnknown = WhenUnknown.NEEDED
