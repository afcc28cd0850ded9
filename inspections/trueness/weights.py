"""Weights of leaves and frames from their steel, and when two people should lift."""

from dataclasses import dataclass

from inspections.standards.walls import FACE, RETURN_5_3_4, STOP
from inspections.standards.weights import ONE_PERSON, SHEET_THICKNESS, STEEL_LB_PER_CUBIC_FOOT
from sitetrack.kit.lengths import Length

_CUBIC_INCHES = 12**3


@dataclass(frozen=True, slots=True)
class Weight:
    """A weight in pounds, of the steel alone; edges, core, reinforcement and glass come on top."""

    pounds: float

    @property
    def kilograms(self) -> float:
        """The same in kilograms; one pound is 0.45359237 kg by definition."""
        return self.pounds * 0.45359237

    @property
    def two_people(self) -> bool:
        """True over the figure one person may lift in ideal conditions."""
        return self.pounds > ONE_PERSON.value


def _pounds(area: float, gauge: int) -> float:
    return area * float(SHEET_THICKNESS[gauge].value * STEEL_LB_PER_CUBIC_FOOT.value) / _CUBIC_INCHES


def leaf_skins(width: Length, height: Length, *, gauge: int) -> Weight:
    """Both faces of a leaf; `gauge` is one of SHEET_THICKNESS."""
    return Weight(_pounds(2 * float(width.inches * height.inches), gauge))


def frame_steel(width: Length, height: Length, *, jamb_depth: Length, gauge: int) -> Weight:
    """A double-rabbet frame's own steel: its girth along both jambs and the head, out to out."""
    girth = jamb_depth + (FACE.length + RETURN_5_3_4.length + STOP.length) * 2
    member = height * 2 + width + FACE.length * 2
    return Weight(_pounds(float(girth.inches * member.inches), gauge))
