"""Hinges: how many, how high, and where. Locations have no single standard; door and frame must match each other."""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.standards.limits import Limit, Mark, Source, inches
from inspections.standards.sources import HINGE_5_10, HINGE_GUIDE, HMMA_831_MEMORY, NFPA_80_HINGES

FEWEST = 2
FEWEST_UP_TO = inches("60", NFPA_80_HINGES)
ONE_MORE_EACH = inches("30", NFPA_80_HINGES)
COUNT_SOURCE = NFPA_80_HINGES


@dataclass(frozen=True, slots=True)
class HingeSize:
    """Hinge height for leaves up to a thickness and a width; None as width means any wider leaf."""

    thickness_most: Limit
    width_most: Limit | None
    height: Limit
    heavy: bool = False


_THIN, _USUAL, _THICK = (inches(size, HINGE_GUIDE) for size in ("11/8", "7/4", "5/2"))


def _size(thickness: Limit, width: str | None, height: str, *, heavy: bool = False) -> HingeSize:
    return HingeSize(
        thickness, None if width is None else inches(width, HINGE_GUIDE), inches(height, HINGE_GUIDE), heavy
    )


# In order: the first row a leaf does not exceed. A 1-3/8 in leaf over 36 in wide is not in the table at all.
SIZES = (
    _size(_THIN, "32", "7/2"),
    _size(_THIN, "36", "4"),
    _size(_USUAL, "36", "9/2"),
    _size(_USUAL, "48", "5"),
    _size(_USUAL, None, "6"),
    _size(_THICK, "42", "5", heavy=True),
    _size(_THICK, None, "6", heavy=True),
)
WIDEST_THIN_LEAF = inches("36", HINGE_GUIDE)


@dataclass(frozen=True, slots=True)
class HingeLayout:
    """Where the top and bottom hinges go; those between are spaced equally.

    Measured from the head rabbet down and from the floor up, to the hinge's centreline or to its nearer edge.
    """

    code: str
    title: str
    from_head: Limit
    from_floor: Limit
    to_centre: bool


DEFAULT_LAYOUT = "five_ten_equal"

LAYOUTS: Mapping[str, HingeLayout] = {
    layout.code: layout
    for layout in (
        HingeLayout(
            "five_ten_equal",
            "5 in to the top hinge, 10 in to the bottom hinge, equal between",
            inches("5", HINGE_5_10),
            inches("10", HINGE_5_10),
            to_centre=False,
        ),
        HingeLayout(
            "hmma_831",
            "HMMA 831 recommended locations",
            inches("47/4", HMMA_831_MEMORY),
            inches("13", HMMA_831_MEMORY),
            to_centre=True,
        ),
        HingeLayout(
            "sdi_111",
            "SDI 111 drawing",
            inches("47/4", Source("SDI 111", "", Mark.MIRROR)),
            inches("13", Source("SDI 111", "", Mark.MEMORY)),
            to_centre=True,
        ),
    )
}
