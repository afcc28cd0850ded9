"""A stage of the work at one opening: what it is called, who does it, what it waits for and what it proves."""

from collections.abc import Iterable
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


class Mark(StrEnum):
    """What finishing a stage means to the alerts and to the drawings, whatever the stage is called.

    A check may confirm and prove, work does the others.
    """

    CONFIRMS_FLOOR = "confirms_floor"
    STANDS_FRAME = "stands_frame"
    ANCHORS_FRAME = "anchors_frame"
    PROVES_OPEN_WALL = "proves_open_wall"
    CLOSES_WALL = "closes_wall"
    PROVES_CLOSED_WALL = "proves_closed_wall"
    HANGS_LEAF = "hangs_leaf"


MARKS_OF_CHECKS = frozenset({Mark.CONFIRMS_FLOOR, Mark.PROVES_OPEN_WALL, Mark.PROVES_CLOSED_WALL})
MARKS_OF_WORK = frozenset(Mark) - MARKS_OF_CHECKS


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
    """One question asked at the opening, and the answer that is right.

    `proves_spreaders`: the right answer says that the spreaders are in, and any other that they are out.
    """

    code: str
    text: Words
    expect: bool = True
    proves_spreaders: bool = False


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a plan, as the plan writes it.

    `after` names the stages it waits for, `covers` the stages whose result it proves. `marks` tell what it means, so
    that its code is free. `weight` is its share of the progress of an opening, in no unit. `applies_when` is None for
    a stage that every opening has.
    """

    code: str
    title: Words
    trade: Trade
    kind: Kind = Kind.WORK
    after: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    hold_point: bool = False
    marks: tuple[Mark, ...] = ()
    sign_roles: tuple[Role, ...] = ()
    checklist: tuple[ChecklistItem, ...] = ()
    required_readings: tuple[str, ...] = ()
    weight: int = 1
    applies_when: Condition | None = None
    if_unknown: WhenUnknown = WhenUnknown.NEEDED

    @property
    def closes_wall(self) -> bool:
        """Whether it hides what came before it."""
        return Mark.CLOSES_WALL in self.marks


def codes_by_mark(stages: Iterable[Stage]) -> dict[Mark, tuple[str, ...]]:
    """The codes of the stages that carry each mark, in plan order; marks that no stage carries are left out."""
    found: dict[Mark, tuple[str, ...]] = {}
    for stage in stages:
        for mark in stage.marks:
            found[mark] = (*found.get(mark, ()), stage.code)
    return found
