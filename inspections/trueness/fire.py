"""What a rated wall asks of its door, and whether a frame in studs may carry it. The listing decides."""

from dataclasses import dataclass

from inspections.standards.anchors import Wall
from inspections.standards.fire import DOOR_FOR_WALL, STUD_FRAME_MOST, WallUse
from inspections.standards.limits import Limit

_STUDS = (Wall.STEEL_STUD, Wall.WOOD_STUD)


@dataclass(frozen=True, slots=True)
class DoorRating:
    """The door's minutes for a wall, and whether a frame in that wall needs a listing of its own."""

    minutes: Limit
    needs_specific_listing: bool
    frame_limit: Limit


def door_rating(wall_minutes: int, *, use: WallUse, wall: Wall) -> DoorRating | None:
    """Look up the door a wall needs; None for a wall the table does not have."""
    minutes = DOOR_FOR_WALL.get((wall_minutes, None)) or DOOR_FOR_WALL.get((wall_minutes, use))
    if minutes is None:
        return None
    return DoorRating(minutes, wall in _STUDS and minutes.value > STUD_FRAME_MOST.value, STUD_FRAME_MOST)
