"""Doors of a model that are likely no single frame of ours. Each is only proposed to be left out; a person settles."""

import re

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.intake.values import plain_words
from sitetrack.kit.lengths import MM, Length

# Below this nobody walks through upright: hatches, access panels, trapdoors.
LOWEST_DOOR = 1600 * MM
# Thinner than a stud and one board; a wall of panels holds no steel frame.
THINNEST_WALL = 50 * MM

_OPERATIONS = re.compile(r"SLIDING|FOLDING|REVOLVING|ROLLINGUP|LIFTING|VERTICAL|SWING_FIXED")
_PREDEFINED = {
    "GATE": gettext_lazy("a gate by its kind in the model"),
    "TRAPDOOR": gettext_lazy("a trapdoor by its kind in the model"),
    "BOOM_BARRIER": gettext_lazy("a barrier by its kind in the model"),
    "TURNSTILE": gettext_lazy("a turnstile by its kind in the model"),
}
_WORDS = (
    (r"curtain wall|storefront|glazed panel|glass panel", gettext_lazy("glazing by its name, not a steel frame")),
    (r"toilet partition|cubicle|toilet cubicle|shower door", gettext_lazy("a partition of panels by its name")),
    (r"garage|overhead|roll up|rolling|roller|coiling|shutter", gettext_lazy("a rolling or overhead door by its name")),
    (r"sliding|pocket|barn|bi ?fold|folding|accordion|revolving", gettext_lazy("not a swinging door by its name")),
    (r"trap ?door|hatch|access panel", gettext_lazy("a hatch by its name")),
    (r"cased opening|door opening|opening|arch|archway|дверь_?проем|проем", gettext_lazy("a bare opening by its name")),
    (r"дверь_?заполнение|заполнение|door leaf|leaf only", gettext_lazy("a leaf without a frame by its name")),
    (r"gate|turnstile|elevator|lift", gettext_lazy("not a door in a wall by its name")),
)
# What a column of frame materials may say that is no steel; hollow metal, galvanised and stainless are.
_NOT_STEEL = re.compile(
    r"al|alu|alum|aluminum|aluminium|aluminio|wd|wood|timber|madera|frp|fg|fiberglass|fibreglass|pvc|vinyl|upvc|glass"
)
_ALUMINIUM = re.compile(r"\balum(?:inum|inium|inio)?\b")
_NAMED = [(re.compile(rf"(?:^|\b|_)(?:{words})(?:$|\b|_)"), reason) for words, reason in _WORDS]


def material_doubt(material: str, mark: str = "") -> str:
    """Why a frame is likely not of steel, by its column of materials or its type's name; empty where neither says."""
    words = plain_words(material).split()
    if words and _NOT_STEEL.fullmatch(words[0]):
        return _("not a steel frame by its material")
    return _("an aluminum frame by its type") if _ALUMINIUM.search(plain_words(mark)) else ""


def doubt(
    *, names: tuple[str, ...], operation: str = "", predefined: str = "", inside: str = "",
    height: Length | None = None, wall_thickness: Length | None = None,
) -> str:  # fmt: skip
    """Why this door is likely no single frame, in words; empty where there is no such sign."""
    if inside == "IfcCurtainWall":
        return _("part of a curtain wall")
    if inside:
        return _("drawn inside another door")
    if predefined in _PREDEFINED:
        return str(_PREDEFINED[predefined])
    if _OPERATIONS.search(operation):
        return _("not a swinging door by its operation in the model")
    for name in names:
        words = plain_words(name)
        for pattern, reason in _NAMED:
            if pattern.search(words):
                return str(reason)
    if height is not None and height < LOWEST_DOOR:
        return _("too low to walk through")
    if wall_thickness is not None and wall_thickness < THINNEST_WALL:
        return _("in a wall too thin for a frame")
    return ""
