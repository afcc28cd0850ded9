"""What the computed answers about a frame are called on a page: places, problems, limits, rules and patterns."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

GAP_PLACES: Mapping[str, Any] = {
    "strike_head": _("strike edge, top"),
    "strike_mid": _("strike edge, middle"),
    "strike_floor": _("strike edge, bottom"),
    "head_hinge": _("head, hinge end"),
    "head_strike": _("head, strike end"),
    "meeting_head": _("between the leaves, top"),
    "meeting_mid": _("between the leaves, middle"),
    "meeting_floor": _("between the leaves, bottom"),
    "head_meeting": _("head, at the meeting edge"),
    "head_meeting_second": _("head, at the meeting edge, second leaf"),
    "floor": _("under the leaf"),
    "stop": _("at the stop"),
    "stop_strike_head": _("at the stop, top of the strike jamb"),
    "stop_strike_floor": _("at the stop, foot of the strike jamb"),
}
PROBLEMS: Mapping[str, Any] = {"binds": _("binds"), "drags": _("drags"), "wide": _("too wide")}
DOOR_FITS: Mapping[str, Any] = {
    "free": _("The door swings free."),
    "binds": _("The door binds."),
    "drags": _("The door drags."),
}
SELF_SWINGS: Mapping[str, Any] = {
    "opens": _("Let go, it opens by itself."),
    "closes": _("Let go, it closes by itself."),
    "rests": _("Let go, it stays where it is."),
}
# The settings of a profile, in the words of the trade.
LIMITS: Mapping[str, Any] = {
    "squareness": _("squareness"),
    "alignment": _("alignment"),
    "twist": _("twist"),
    "plumb": _("plumb, both jambs, both ways"),
    "width_over": _("width, over"),
    "width_under": _("width, under"),
    "disagreement": _("readings may disagree by"),
    "edge_gap": _("design gap, hinge, strike and head"),
    "meeting_gap": _("design gap between leaves"),
    "meeting_gap_rated": _("design gap between leaves, rated"),
    "undercut": _("design undercut"),
    "stop_gap": _("design gap, face to stop"),
    "clear_width": _("clear width at 90°, at least"),
    "max_swing": _("the door swings to, degrees"),
    "gap_rule": _("gap rule"),
    "anchor_rule_set": _("anchor rule set"),
}
GAP_RULE_TITLES: Mapping[str, Any] = {
    "nfpa80_steel": _("steel door, 1/8 in give or take 1/16 in"),
    "nfpa80_steel_before_2007": _("steel door, older table with its own limit at a raised sill"),
    "nfpa80_wood": _("wood fire door over 20 minutes, or any before the 2016 edition"),
    "nfpa80_wood_20_min_2016": _("20-minute wood or laminate door in a steel frame, 2016 edition and later"),
    "agency_guide_2011": _("doors without a rating, by one public agency's guide"),
}
RULE_SET_TITLES: Mapping[str, Any] = {
    "": _("the usual one for each wall"),
    "project_spec": _("project specification 08 11 13"),
    "ufgs": "UFGS 08110",
    "sdi": "SDI A250.8",
    "hmma": "HMMA 861",
}
ANCHOR_PLACES: Mapping[str, Any] = {
    "jamb": _("jamb anchor"),
    "head": _("head anchor"),
    "base": _("base anchor"),
}
THROAT_FITS: Mapping[str, Any] = {
    "fits": _("the wall fits the throat"),
    "tight": _("the wall fits with little room or none"),
    "too_narrow": _("the throat is too narrow for the wall"),
}
FLOOR_FITS: Mapping[str, Any] = {
    "fits": _("the leaf clears the floor"),
    "too_small": _("the leaf drags on the floor"),
    "too_wide": _("the gap below the leaf is too wide"),
}
ROUGH_RULES: Mapping[str, Any] = {
    "sdi_127f": _("butted to the wall, at least"),
    "ufgs_quarter": _("butted to the wall, with a quarter inch all round"),
    "slip_on": _("slipped over the board"),
}
LEFT_OUT: Mapping[str, Any] = {
    "no_size": _("its size is not told"),
    "no_wall": _("its wall is not told"),
}

TRUENESS_TABLES: Mapping[str, Mapping[str, Any]] = {
    "gap_place": GAP_PLACES,
    "problem": PROBLEMS,
    "door_fit": DOOR_FITS,
    "self_swing": SELF_SWINGS,
    "limit": LIMITS,
    "gap_rule": GAP_RULE_TITLES,
    "rule_set": RULE_SET_TITLES,
    "anchor_place": ANCHOR_PLACES,
    "throat": THROAT_FITS,
    "floor_fit": FLOOR_FITS,
    "rough": ROUGH_RULES,
    "left_out": LEFT_OUT,
}
