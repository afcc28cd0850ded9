"""Takeoffs of stored openings: what the schedule tells of them, in the form the core works with."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from inspections.selectors.nominal import nominal_opening
from inspections.standards.anchors import Wall
from inspections.standards.rough_openings import FrameKind
from inspections.trueness.kit import KitList, KitOpening, kit_list
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.takeoff import Takeoff, Told, take_off
from inspections.trueness.wall import wall_thickness
from openings.models import Opening, WallType
from openings.models.walls import WallKind
from sitetrack.kit.lengths import BARE_UNIT, Length, LengthError, parse_length

KINDS = {
    Opening.Construction.KNOCKED_DOWN: FrameKind.SLIP_ON,
    Opening.Construction.WELDED: FrameKind.WELDED_WRAP,
}


class LeftOut(StrEnum):
    """Why an opening can't be taken off."""

    NO_SIZE = "no_size"
    NO_WALL = "no_wall"


@dataclass(frozen=True, slots=True)
class Kit:
    """The kit list of a selection, and the numbers of openings it could not count, with why."""

    list: KitList
    left_out: tuple[tuple[str, LeftOut], ...]


def takeoff_of(opening: Opening, profile: ToleranceProfile) -> Takeoff | None:
    """An opening's takeoff; None where the schedule does not tell a door's size. Give its wall with it."""
    nominal = nominal_opening(opening)
    if nominal is None or not nominal.door_sized:
        return None
    told = Told(
        wall=_wall_kind(opening.wall),
        wall_thickness=_thickness(opening.wall, profile),
        jamb_depth=opening.jamb_depth,
        frame_kind=_frame_kind(opening),
    )
    return take_off(nominal, told, profile)


def kit_of(openings: Iterable[Opening], profile: ToleranceProfile) -> Kit:
    """Add up what these openings need, in their order; what the schedule does not tell is told, not guessed."""
    counted: list[KitOpening] = []
    left_out: list[tuple[str, LeftOut]] = []
    for opening in openings:
        nominal, wall = nominal_opening(opening), _wall_kind(opening.wall)
        if nominal is None or not nominal.door_sized:
            left_out.append((opening.number, LeftOut.NO_SIZE))
        elif wall is None:
            left_out.append((opening.number, LeftOut.NO_WALL))
        else:
            counted.append(KitOpening(opening.number, nominal, wall, opening.jamb_depth))
    return Kit(kit_list(counted, rule_set=profile.anchor_rule_set), tuple(left_out))


def _wall_kind(wall: WallType | None) -> Wall | None:
    return Wall(wall.kind) if wall and wall.kind else None


def _thickness(wall: WallType | None, profile: ToleranceProfile) -> Length | None:
    """Stud and boards where both are told; else the thickness the schedule gives."""
    if wall is None:
        return None
    boards = [*wall.boards_pull, *wall.boards_push]
    if wall.stud is not None and boards:
        try:
            layers = [parse_length(str(board), unit=BARE_UNIT[profile.units]) for board in boards]
        except LengthError:
            return wall.thickness
        return wall_thickness(wall.stud, layers)
    return wall.thickness


def _frame_kind(opening: Opening) -> FrameKind | None:
    if opening.wall and opening.wall.kind == WallKind.EXISTING:
        return FrameKind.BUTTED
    return KINDS.get(Opening.Construction(opening.construction)) if opening.construction else None
