"""Rough openings in stud framing, by kind of frame."""

from dataclasses import dataclass

from inspections.standards.rough_openings import ROUGH_OPENING_RULES, FrameKind, RoughOpeningRule
from inspections.standards.walls import FACE
from sitetrack.kit.lengths import Length


@dataclass(frozen=True, slots=True)
class RoughOpening:
    """One rule's answer; for a butted frame the least that it may be."""

    width: Length
    height: Length
    rule: RoughOpeningRule


def frame_overall(width: Length, height: Length, *, face: Length = FACE.length) -> tuple[Length, Length]:
    """Out-to-out size of a frame: a face each side, a face on top."""
    return width + face * 2, height + face


def rough_openings(
    kind: FrameKind, *, width: Length, height: Length, face: Length = FACE.length
) -> tuple[RoughOpening, ...]:
    """Every published rough opening for a kind of frame; empty for a welded wrap frame, whose studs come to it."""
    overall = frame_overall(width, height, face=face)
    return tuple(
        RoughOpening(
            (overall[0] if rule.over_frame else width) + rule.width.length,
            (overall[1] if rule.over_frame else height) + rule.height.length,
            rule,
        )
        for rule in ROUGH_OPENING_RULES.values()
        if rule.kind is kind
    )
