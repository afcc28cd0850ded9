"""A stored opening as the core judges it."""

from inspections.trueness.opening import Hand, NominalOpening
from openings.models import Opening
from sitetrack.kit.lengths import ZERO


def nominal_opening(opening: Opening) -> NominalOpening | None:
    """The opening as scheduled, where the schedule's size is that of the opening; else nothing to judge against."""
    if opening.width is None or opening.height is None or opening.size_is != Opening.SizeIs.OPENING:
        return None
    return NominalOpening(
        width=opening.width,
        height=opening.height,
        leaves=opening.leaves or 1,
        hand=Hand(opening.hand) if opening.hand else None,
        rating_minutes=opening.rating_minutes,
        covering=opening.covering_thickness or ZERO,
    )
