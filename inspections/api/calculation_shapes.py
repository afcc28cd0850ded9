"""The calculations over the API: what each asks and answers, for the OpenAPI document, beside what does it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inspections.standards.anchors import ANCHOR_RULE_SETS, Wall
from inspections.trueness import answers
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from inspections.trueness.opening import FootOn

Shape = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Calculation:
    """One calculation: how it is called and done, and the shapes of what it takes and gives."""

    name: str
    summary: str
    compute: Callable[[object], dict[str, Any]]
    asks: Shape
    gives: Shape
    example: dict[str, Any]


def _object(required: list[str], **members: Shape) -> Shape:
    return {"type": "object", "required": required, "properties": members}


def _list(of: Shape) -> Shape:
    return {"type": "array", "items": of}


def _words(*allowed: str) -> Shape:
    return {"type": "string", "enum": list(allowed)}


TEXT: Shape = {"type": "string"}
NUMBER: Shape = {"type": "number"}
WHOLE: Shape = {"type": "integer"}
ASKED: Shape = {
    "type": ["string", "number"],
    "maxLength": 40,
    "description": "A length as written on a job; a bare number is inches, or millimetres where units is metric.",
}
LENGTH = _object(["text", "in", "mm"], text=TEXT, mm=NUMBER, **{"in": NUMBER})
SOURCES = _list({"type": ["string", "object"]})
UNITS = _words("imperial", "metric")
SIZE = _object(["width", "height"], width=ASKED, height=ASKED)
READINGS: Shape = {
    "type": "object",
    "properties": dict.fromkeys(MEASURES, ASKED) | {FLOOR_RISE: _list(_list(ASKED))},
}
PROFILE: Shape = {"type": "object", "description": "Limits that differ from the published ones, by name."}
CHECKED = {"opening": SIZE, "leaf": SIZE, "readings": READINGS, "profile": PROFILE}
FRAME = {"frame_height": ASKED, "frame_width": ASKED, "units": UNITS}
OPENING = {"width": "3'-0\"", "height": "7'-0\""}
JUDGED = {"opening": OPENING, "readings": {"width_head": "36 1/16", "twist": "1/32"}}
VERDICT = _words("pass", "fail", "incomplete")

CALCULATIONS = (
    Calculation(
        "wall",
        "Wall thickness against the throat of a frame",
        answers.wall,
        _object(
            ["stud", "jamb_depth", "return"],
            stud=ASKED, boards_pull=_list(ASKED), boards_push=_list(ASKED), jamb_depth=ASKED, units=UNITS,
            **{"return": ASKED},
        ),
        _object(
            ["wall_thickness", "throat", "slack", "verdict", "sources"],
            wall_thickness=LENGTH, throat=LENGTH, slack=LENGTH, verdict=TEXT, sources=SOURCES,
        ),
        {"stud": "3 5/8", "boards_pull": ["5/8"], "boards_push": ["5/8"], "jamb_depth": "5 3/4", "return": "1/2"},
    ),
    Calculation(
        "anchors",
        "Anchors in jambs, head and base, and where another rule set asks for more",
        answers.anchors,
        _object(
            ["frame_height", "frame_width", "wall"],
            **FRAME, wall=_words(*(w.value for w in Wall)), rule_set=_words(*ANCHOR_RULE_SETS),
        ),
        _object(
            ["per_jamb", "head", "base", "heights", "rule_set", "other_rule_sets", "sources"],
            per_jamb=WHOLE, head=WHOLE, base=WHOLE, heights=_list(LENGTH), rule_set=TEXT,
            other_rule_sets=_list({"type": "object"}), sources=SOURCES,
        ),
        {"frame_height": "7'-0\"", "frame_width": "3'-0\"", "wall": "steel_stud"},
    ),
    Calculation(
        "hinges",
        "Hinges: how many, what size, where",
        answers.hinges,
        _object(["frame_height", "frame_width"], **FRAME, thickness=ASKED, leaves=WHOLE, layout=TEXT),
        _object(
            ["count", "size", "heights", "sources"],
            count=WHOLE, size=LENGTH | {"type": ["object", "null"]}, heights=_list(LENGTH), sources=SOURCES,
        ),
        {"frame_height": "7'-0\"", "frame_width": "3'-0\""},
    ),
    Calculation(
        "floor",
        "Base-anchor setting and clearance under the leaf for a floor covering",
        answers.floor,
        _object(
            ["covering"],
            opening=SIZE, covering=ASKED, foot_on=_words(*(f.value for f in FootOn)), undercut=ASKED, threshold=ASKED,
            travel=ASKED, wanted_clearance=ASKED, extension=ASKED, profile=PROFILE, units=UNITS,
        ),
        _object(
            ["setting", "travel", "within_travel", "undercut", "floor_clearance", "limit", "needed_undercut", "verdict",
             "sources"],
            setting=LENGTH, travel=LENGTH, within_travel={"type": "boolean"}, undercut=LENGTH, floor_clearance=LENGTH,
            limit=LENGTH, needed_undercut=LENGTH, verdict=TEXT, sources=SOURCES,
        ),
        {"opening": OPENING, "covering": "3/4"},
    ),
    Calculation(
        "frame-check",
        "Verdict on the readings of a frame, with every margin and its source",
        answers.frame_check,
        _object(["opening", "readings"], **CHECKED),
        _object(
            ["verdict", "items", "contradictions", "suspect"],
            verdict=VERDICT, items=_list({"type": "object"}), contradictions=_list({}), suspect={},
        ),
        JUDGED,
    ),
    Calculation(
        "door-fit",
        "Whether the door will fit the frame as it stands",
        answers.door_fit,
        _object(["opening", "readings"], **CHECKED),
        _object(
            ["verdict", "gaps", "stop_misfit", "floor_clearance", "self_swing", "where", "sources"],
            verdict=_words("free", "binds", "drags"), gaps={"type": "object", "additionalProperties": LENGTH},
            stop_misfit=LENGTH, floor_clearance=_object(["least", "at_angle"], least=LENGTH, at_angle=NUMBER),
            self_swing=_words("opens", "closes", "rests"), where=_list({"type": "object"}), sources=SOURCES,
        ),
        JUDGED,
    ),
    Calculation(
        "advice",
        "The smallest moves that make the frame pass, in the order they are made",
        answers.advice,
        _object(["opening", "readings"], **CHECKED),
        _object(
            ["moves", "predicted", "verdict_after"],
            moves=_list(_object(["order", "part", "direction", "amount"], order=WHOLE, part=TEXT, direction=TEXT,
                                amount=LENGTH)),
            predicted={"type": "object", "additionalProperties": LENGTH}, verdict_after=VERDICT,
        ),
        JUDGED,
    ),
)  # fmt: skip
