"""Rough openings in stud framing, by the kind of frame. They differ by kind, so the kind is asked first."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.limits import Limit, inches
from inspections.standards.sources import FRAMING_ARTICLE, SDI_127F, UFGS_SECURITY


class FrameKind(StrEnum):
    """How the frame meets the wall."""

    BUTTED = "butted"
    SLIP_ON = "slip_on"
    WELDED_WRAP = "welded_wrap"


@dataclass(frozen=True, slots=True)
class RoughOpeningRule:
    """What is added: to the nominal opening or to the frame's overall size, in all over the width, and on top."""

    code: str
    kind: FrameKind
    over_frame: bool
    width: Limit
    height: Limit


ROUGH_OPENING_RULES: Mapping[str, RoughOpeningRule] = {
    rule.code: rule
    for rule in (
        RoughOpeningRule("sdi_127f", FrameKind.BUTTED, True, inches("3/8", SDI_127F), inches("3/16", SDI_127F)),
        RoughOpeningRule(
            "ufgs_quarter", FrameKind.BUTTED, True, inches("1/2", UFGS_SECURITY), inches("1/4", UFGS_SECURITY)
        ),
        RoughOpeningRule(
            "slip_on", FrameKind.SLIP_ON, False, inches("2", FRAMING_ARTICLE), inches("1", FRAMING_ARTICLE)
        ),
    )
}

# Jamb studs come to a welded wrap frame, not the frame to them: a little for bent clips, about an inch over the head.
WRAP_SIDE_LEAST, WRAP_SIDE_MOST = inches("1/8", FRAMING_ARTICLE), inches("1/4", FRAMING_ARTICLE)
WRAP_OVER_HEAD = inches("1", FRAMING_ARTICLE)

BUTTED_LEAST, BUTTED_MOST = inches("3/16", SDI_127F), inches("1/2", UFGS_SECURITY)
