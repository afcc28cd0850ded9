"""A tolerance profile in the form that a pull hands to a phone: whole nanometres, each limit with its source."""

from typing import Any

from inspections.standards.clearances import GAP_RULES
from inspections.standards.limits import Limit
from inspections.trueness.profile import ToleranceProfile

NAMED = ("squareness", "alignment", "twist", "plumb", "width_over", "width_under", "disagreement", "clear_width")


def limits_for_phone(profile: ToleranceProfile) -> dict[str, Any]:
    """The `data` of a change of type `profile`."""
    rule = GAP_RULES[profile.gap_rule]
    limits: dict[str, Limit | None] = {name: getattr(profile, name) for name in NAMED}
    limits |= {
        "gap_least": rule.least,
        "gap_most": rule.most,
        "gap_meeting_most": rule.meeting_most,
        "gap_bottom_most": rule.bottom_most,
    }
    return {
        "limits": {
            name: {"limit_nm": limit.length.nm, "source": limit.cited()} for name, limit in limits.items() if limit
        },
        "required": list(profile.required),
        "units": profile.units,
    }
