"""Doors of a model that are likely no single frame of ours. Each is only proposed to be left out; a person settles."""

import re

from openings.intake.values import plain_words
from sitetrack.kit.lengths import MM, Length

# Below this nobody walks through upright: hatches, access panels, trapdoors.
LOWEST_DOOR = 1600 * MM
# Thinner than a stud and one board; a wall of panels holds no steel frame.
THINNEST_WALL = 50 * MM

_OPERATIONS = re.compile(r"SLIDING|FOLDING|REVOLVING|ROLLINGUP|LIFTING|VERTICAL|SWING_FIXED")
_PREDEFINED = {"GATE": "a gate", "TRAPDOOR": "a trapdoor", "BOOM_BARRIER": "a barrier", "TURNSTILE": "a turnstile"}
_WORDS = (
    (r"curtain wall|storefront|glazed panel|glass panel", "glazing by its name, not a steel frame"),
    (r"toilet partition|cubicle|toilet cubicle|shower door", "a partition of panels by its name"),
    (r"garage|overhead|roll up|rolling|roller|coiling|shutter", "a rolling or overhead door by its name"),
    (r"sliding|pocket|barn|bi ?fold|folding|accordion|revolving", "not a swinging door by its name"),
    (r"trap ?door|hatch|access panel", "a hatch by its name"),
    (r"cased opening|door opening|opening|arch|archway|дверь_?проем|проем", "a bare opening by its name"),
    (r"дверь_?заполнение|заполнение|door leaf|leaf only", "a leaf without a frame by its name"),
    (r"gate|turnstile|elevator|lift", "not a door in a wall by its name"),
)
_NAMED = [(re.compile(rf"(?:^|\b|_)(?:{words})(?:$|\b|_)"), reason) for words, reason in _WORDS]


def doubt(
    *, names: tuple[str, ...], operation: str = "", predefined: str = "", inside: str = "",
    height: Length | None = None, wall_thickness: Length | None = None,
) -> str:  # fmt: skip
    """Why this door is likely no single frame, in words; empty where there is no such sign."""
    if inside == "IfcCurtainWall":
        return "part of a curtain wall"
    if inside:
        return "drawn inside another door"
    if predefined in _PREDEFINED:
        return f"{_PREDEFINED[predefined]} by its kind in the model"
    if _OPERATIONS.search(operation):
        return "not a swinging door by its operation in the model"
    for name in names:
        words = plain_words(name)
        for pattern, reason in _NAMED:
            if pattern.search(words):
                return reason
    if height is not None and height < LOWEST_DOOR:
        return "too low to walk through"
    if wall_thickness is not None and wall_thickness < THINNEST_WALL:
        return "in a wall too thin for a frame"
    return ""
