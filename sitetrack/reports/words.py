"""The word for every code that a status carries, in the language that is switched on when it is asked for."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from inspections.rules.table import TITLES
from inspections.words import ACTIONS, CLOSED_HOW, CONSTRUCTIONS, SEVERITIES, STATES, VERDICTS, YES_NO
from sitetrack.access.roles import Trade

VOCABULARIES: Mapping[str, Mapping[str, Any]] = {
    "state": {**STATES, "listed": _("listed"), "not listed": _("not listed")},
    "trade": dict(Trade.choices),
    "action": ACTIONS,
    "verdict": VERDICTS,
    "severity": SEVERITIES,
    "alert": {"open": _("open"), **CLOSED_HOW},
    "rule": TITLES,
    "construction": CONSTRUCTIONS,
    "item": {
        "squareness": _("squareness"),
        "alignment": _("alignment"),
        "twist": _("twist"),
        "hinge_plumb_side": _("hinge jamb plumb, along the wall"),
        "strike_plumb_side": _("strike jamb plumb, along the wall"),
        "hinge_plumb_face": _("hinge jamb plumb, across the wall"),
        "strike_plumb_face": _("strike jamb plumb, across the wall"),
        "head_level": _("head level"),
        "width_head": _("width at the head"),
        "width_mid": _("width at mid height"),
        "width_floor": _("width at the floor"),
        "diagonal_hinge_foot": _("diagonal from the hinge foot"),
        "diagonal_strike_foot": _("diagonal from the strike foot"),
        "foot_gap_hinge": _("gap under the hinge jamb"),
        "foot_gap_strike": _("gap under the strike jamb"),
        "floor_rise": _("rise of the floor under the swing"),
        "clear_width": _("clear width"),
        "gap_head_hinge": _("gap at the head, hinge end"),
        "gap_head_strike": _("gap at the head, strike end"),
        "gap_hinge": _("gap at the hinge edge"),
        "gap_strike_head": _("gap at the strike edge, top"),
        "gap_strike_mid": _("gap at the strike edge, middle"),
        "gap_strike_floor": _("gap at the strike edge, bottom"),
        "gap_meeting": _("gap between the leaves of a pair"),
        "gap_floor": _("gap under the leaf"),
    },
    "mark": {
        "read": _("read in the publication"),
        "mirror": _("read in a copy of the publication"),
        "secondary": _("read in an article about the publication"),
        "memory": _("from memory, not confirmed"),
        "derived": _("worked out from other values"),
        "common_practice": _("common practice of the trade"),
        "site": _("set for this site"),
    },
    "flag": YES_NO,
    "figure": {
        "openings": _("Openings listed"),
        "finished": _("Openings finished"),
        "on_hold": _("Openings on hold"),
        "failed": _("Openings with a check failed or outdated"),
        "awaiting_signature": _("Readings awaiting a signature"),
        "earned": _("Progress earned, weight"),
        "total": _("Progress in all, weight"),
        "percent": _("Progress, per cent"),
        "alerts_open": _("Alerts open"),
        "alerts_critical": _("Alerts open, critical"),
        "holds_open": _("Holds open"),
        "aside_waiting": _("Check-ins kept aside and not placed"),
        "check_ins": _("Check-ins received in the week"),
        "late": _("Check-ins received late"),
        "checks_read": _("Checks read in the week"),
        "checks_passed": _("Checks that passed"),
        "checks_failed": _("Checks that failed"),
        "checks_incomplete": _("Checks incomplete"),
    },
}

BASIS = _(
    "Progress is earned by whole stages: an opening earns the weight of each stage it needs that is done and, for a "
    "check, still current and signed. The weights are in the table Stages."
)
COUNTED = _(
    "Counted is what was received before the cut-off. What happened earlier and was received later is counted in the "
    "week it was received and listed as late."
)
SO_FAR = _("This week is still running: these figures are not final.")


def spoken() -> dict[str, dict[str, str]]:
    """Every vocabulary in the language now switched on, as plain text."""
    return {name: {code: str(text) for code, text in words.items()} for name, words in VOCABULARIES.items()}
