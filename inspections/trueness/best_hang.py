"""The best a leaf can be hung in a frame as it stands, by shimming its hinges: the fit nobody can improve on.

Free are the hinge gap at the top and at the bottom and the gap at the head; the leaf stays a rectangle. Sought is the
hanging whose worst gap is least off its design, a linear programme in those three and the worst itself.
"""

from dataclasses import dataclass

from inspections.trueness.door_fit import single_gaps
from inspections.trueness.leaf import Leaf
from inspections.trueness.linear import Row, least_change
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings
from inspections.trueness.shape import frame_shape
from sitetrack.kit.lengths import Length

# Past any real gap, so that no bound on the far side ever bites.
_FAR = 1e10


@dataclass(frozen=True, slots=True)
class BestHang:
    """Gaps with the leaf hung as well as can be, and how far the worst of them is off the design gap."""

    gaps: dict[str, Length]
    worst_off: Length


def best_hang(readings: Readings, *, opening: NominalOpening, leaf: Leaf, profile: ToleranceProfile) -> BestHang | None:
    """Find the best hanging of a single leaf; None for a pair, whose leaves share the meeting gap."""
    if opening.leaves == 2:
        return None
    shape = frame_shape(readings.lengths, opening)
    edge = profile.edge_gap.length.nm
    gaps = {place: gap.nm for place, gap in single_gaps(shape, leaf, profile).items()}
    turned = leaf.width.nm / leaf.height.nm
    # Gap by place: what it is with every hinge gap at the design, then its change with [top gap, bottom gap, head gap].
    table: dict[str, tuple[int, tuple[float, float, float]]] = {
        "hinge_head": (edge, (1.0, 0.0, 0.0)),
        "hinge_floor": (edge, (0.0, 1.0, 0.0)),
        "strike_head": (gaps["strike_head"], (-1.0, 0.0, 0.0)),
        "strike_mid": (gaps["strike_mid"], (-0.5, -0.5, 0.0)),
        "strike_floor": (gaps["strike_floor"], (0.0, -1.0, 0.0)),
        "head_hinge": (gaps["head_hinge"], (0.0, 0.0, 1.0)),
        "head_strike": (gaps["head_strike"], (turned, -turned, 1.0)),
    }
    rows = []
    for gap, change in table.values():
        off = float(gap - edge)
        rows.append(Row((*change, -1.0), -_FAR, -off))
        rows.append(Row((*change, 1.0), -off, _FAR))
    found = least_change([0.0, 0.0, 0.0, 1.0], rows)
    if found is None:
        return None
    *shims, worst = found
    hung = {
        place: Length(round(gap + sum(part * shim for part, shim in zip(change, shims, strict=True))))
        for place, (gap, change) in table.items()
    }
    return BestHang(hung, Length(round(worst)))
