"""What steel weighs and what one person should lift."""

from collections.abc import Mapping

from inspections.standards.limits import Limit, Mark, Source, limit_of
from inspections.standards.sources import NIOSH, PROJECT_SPEC, STEEL_WEIGHT

STEEL_LB_PER_CUBIC_FOOT = limit_of("490", "lb/ft3", STEEL_WEIGHT)
ONE_PERSON = limit_of("51", "lb", NIOSH)

_SDI_117_FIRST_PAGE = Source("SDI 117", "2009, 2013", Mark.MIRROR)
_GAUGE_MEMORY = Source("gauge of the thickness", "", Mark.MEMORY)
_GUIDE = Source("public-agency guide specification 08 11 13", "2011", Mark.READ)

# Least bare thickness by manufacturers' standard gauge; the thicknesses were read, the gauge beside them partly not.
SHEET_THICKNESS: Mapping[int, Limit] = {
    20: limit_of("0.032", "in", _SDI_117_FIRST_PAGE),
    18: limit_of("0.042", "in", PROJECT_SPEC),
    16: limit_of("0.053", "in", PROJECT_SPEC),
    14: limit_of("0.067", "in", PROJECT_SPEC),
    12: limit_of("0.093", "in", _GUIDE),
    10: limit_of("0.123", "in", _GAUGE_MEMORY),
}
