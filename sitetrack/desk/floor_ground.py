"""The sheet on which openings are put where they stand: its extent in metres, and places on it in its own units.

Pure. With a picture the sheet is the picture and whatever stands beyond it; without one, the openings already placed
with room around them; with nothing known, a blank of the size of a small floor.
"""

from collections.abc import Collection
from dataclasses import dataclass

from openings.models import FloorPlan
from sitetrack.kit.floor_drawing import Box, Ground

ACROSS = 1200  # units of the drawing from left to right
BLANK = Ground(0, 0, 40, 28)
ROOM = 5.0  # metres around the outermost opening, so that there is somewhere to move it to


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing `width` by `height` units; its upper left corner lies at `left`, `top` in metres."""

    left: float
    top: float
    metres_per_unit: float
    width: int
    height: int
    picture: Box | None = None

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a spot, in metres right and up, lies on the drawing."""
        return (
            round((x - self.left) / self.metres_per_unit, 1),
            round((self.top - y) / self.metres_per_unit, 1),
        )


def ground_of(plan: FloorPlan | None) -> Ground | None:
    """What the picture of a floor covers; None where there is none, or it is not to scale yet."""
    if plan is None or not plan.metres_per_px:
        return None
    scale = plan.metres_per_px
    return Ground(plan.left, plan.bottom, plan.left + plan.width * scale, plan.bottom + plan.height * scale)


def sheet_for(spots: Collection[tuple[float, float]], ground: Ground | None) -> Sheet:
    """The sheet that shows the ground and every spot."""
    covers = [ground] if ground else []
    covers += [Ground(x - ROOM, y - ROOM, x + ROOM, y + ROOM) for x, y in spots if not _within(x, y, ground)]
    covers = covers or [BLANK]
    left, top = min(each.left for each in covers), max(each.top for each in covers)
    right, bottom = max(each.right for each in covers), min(each.bottom for each in covers)
    # Square enough to be seen: a corridor alone would be a line.
    bottom = min(bottom, top - (right - left) / 4)
    scale = (right - left) / ACROSS
    sheet = Sheet(left, top, scale, ACROSS, round((top - bottom) / scale))
    if ground is None:
        return sheet
    x, y = sheet.at(ground.left, ground.top)
    picture = Box(x, y, round((ground.right - ground.left) / scale, 1), round((ground.top - ground.bottom) / scale, 1))
    return Sheet(left, top, scale, sheet.width, sheet.height, picture)


def _within(x: float, y: float, ground: Ground | None) -> bool:
    return ground is not None and ground.left <= x <= ground.right and ground.bottom <= y <= ground.top
