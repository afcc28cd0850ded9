"""Gaps between door and frame: design clearances, and the rules that judge a gap, edition by edition.

The rules conflict and are kept apart: a site picks one and the answer names it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.standards.limits import Limit, inches
from inspections.standards.sources import (
    A250_8,
    AGENCY_GUIDE,
    NFPA_80,
    NFPA_80_2016,
    NFPA_80_EDGES,
    NFPA_80_OLD,
    SDI_FAQ,
)

DESIGN_EDGE = inches("1/8", SDI_FAQ)
DESIGN_MEETING = inches("3/16", A250_8)
DESIGN_MEETING_RATED = inches("1/8", A250_8)
DESIGN_UNDERCUT = inches("3/4", A250_8)
DESIGN_STOP = inches("1/16", A250_8)

# A door bottom this far above the floor (counter, upper leaf of a dutch door) has its own limit.
RAISED_BOTTOM = inches("38", NFPA_80)


@dataclass(frozen=True, slots=True)
class GapRule:
    """One published way to judge gaps. None as `least` means the publication sets no lower bound."""

    code: str
    title: str
    least: Limit | None
    most: Limit
    meeting_most: Limit
    bottom_most: Limit
    raised_bottom_most: Limit | None


_STEEL_LEAST = inches("1/16", NFPA_80_EDGES)
_STEEL_MOST = inches("3/16", NFPA_80_EDGES)
_BOTTOM = inches("3/4", NFPA_80)
_RAISED = inches("3/8", NFPA_80)

DEFAULT_GAP_RULE = "nfpa80_steel"

GAP_RULES: Mapping[str, GapRule] = {
    rule.code: rule
    for rule in (
        GapRule(
            code="nfpa80_steel",
            title="steel door, 1/8 in give or take 1/16 in",
            least=_STEEL_LEAST,
            most=_STEEL_MOST,
            meeting_most=_STEEL_MOST,
            bottom_most=_BOTTOM,
            raised_bottom_most=_RAISED,
        ),
        GapRule(
            code="nfpa80_steel_before_2007",
            title="steel door, older table with its own limit at a raised sill",
            least=_STEEL_LEAST,
            most=_STEEL_MOST,
            meeting_most=_STEEL_MOST,
            bottom_most=inches("3/4", NFPA_80_OLD),
            raised_bottom_most=inches("3/8", NFPA_80_OLD),
        ),
        GapRule(
            code="nfpa80_wood",
            title="wood fire door over 20 minutes, or any before the 2016 edition",
            least=None,
            most=inches("1/8", NFPA_80),
            meeting_most=inches("1/8", NFPA_80),
            bottom_most=_BOTTOM,
            raised_bottom_most=_RAISED,
        ),
        GapRule(
            code="nfpa80_wood_20_min_2016",
            title="20-minute wood or laminate door in a steel frame, 2016 edition and later",
            least=inches("1/16", NFPA_80_2016),
            most=inches("3/16", NFPA_80_2016),
            meeting_most=inches("3/16", NFPA_80_2016),
            bottom_most=_BOTTOM,
            raised_bottom_most=_RAISED,
        ),
        GapRule(
            code="agency_guide_2011",
            title="doors without a rating, by one public agency's guide",
            least=None,
            most=inches("3/32", AGENCY_GUIDE),
            meeting_most=inches("1/8", AGENCY_GUIDE),
            bottom_most=inches("3/8", AGENCY_GUIDE),
            raised_bottom_most=None,
        ),
    )
}
