"""Fire: which door a rated wall needs, and what a frame in studs may carry. The listing decides; this only warns."""

from collections.abc import Mapping
from enum import StrEnum
from fractions import Fraction

from inspections.standards.limits import Limit, limit_of
from inspections.standards.sources import IBC_MEMORY, IBC_TABLE_716, SDI_118


class WallUse(StrEnum):
    """What a rated wall is there for."""

    SHAFT_OR_EXIT = "shaft_or_exit"
    OTHER_BARRIER = "other_barrier"
    CORRIDOR_OR_SMOKE = "corridor_or_smoke"


# (wall minutes, use) to the door's minutes; a use of None is any.
DOOR_FOR_WALL: Mapping[tuple[int, WallUse | None], Limit] = {
    (240, None): limit_of("180", "min", IBC_TABLE_716),
    (180, None): limit_of("180", "min", IBC_TABLE_716),
    (120, None): limit_of("90", "min", IBC_TABLE_716),
    (60, WallUse.SHAFT_OR_EXIT): limit_of("60", "min", IBC_MEMORY),
    (60, WallUse.OTHER_BARRIER): limit_of("45", "min", IBC_MEMORY),
    (60, WallUse.CORRIDOR_OR_SMOKE): limit_of("20", "min", IBC_MEMORY),
}

STUD_FRAME_MOST = limit_of(Fraction(90), "min", SDI_118)
