"""The calculations over the API: what each asks and answers, for the OpenAPI document, beside what does it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inspections.standards.anchors import ANCHOR_RULE_SETS, Wall
from inspections.standards.fire import WallUse
from inspections.trueness import answers
from inspections.trueness.access_answers import Approach, Side, accessible
from inspections.trueness.door_answers import Hinges, SeenFrom, Swings, handing, hang, rating
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from inspections.trueness.opening import FootOn, Hand

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
FLAG: Shape = {"type": "boolean"}

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
    Calculation(
        "best-hang",
        "The best that shimming the hinges can do for a single leaf in the frame as it stands",
        hang,
        _object(["opening", "readings"], **CHECKED),
        _object(
            ["verdict", "gaps", "worst_off", "sources"],
            verdict=_words("free", "binds"), gaps={"type": "object", "additionalProperties": LENGTH}, worst_off=LENGTH,
            sources=SOURCES,
        ),
        JUDGED,
    ),
    Calculation(
        "handing",
        "The hand of a door from what is seen at it: one from the outside, two from the pull side",
        handing,
        _object(
            ["seen_from", "hinges"],
            seen_from=_words(*SeenFrom), hinges=_words(*Hinges), swings=_words(*Swings),
        ),
        _object(["hands", "sources"], hands=_list(_words(*Hand)), sources=SOURCES),
        {"seen_from": "outside", "hinges": "left", "swings": "away"},
    ),
    Calculation(
        "door-rating",
        "The door a rated wall needs, and whether a frame in studs wants a listing of its own; the listing decides",
        rating,
        _object(
            ["wall_minutes"], wall_minutes=WHOLE, use=_words(*WallUse), wall=_words(*(w.value for w in Wall)),
        ),
        _object(
            ["door_minutes", "needs_specific_listing", "stud_frame_most_minutes", "sources"],
            door_minutes=WHOLE, needs_specific_listing=FLAG, stud_frame_most_minutes=WHOLE, sources=SOURCES,
        ),
        {"wall_minutes": 120, "use": "shaft_or_exit"},
    ),
    Calculation(
        "access",
        "Whether a door is accessible by what was measured of it; what is not given is not judged",
        accessible,
        _object(
            [],
            clear_width=ASKED, depth=ASKED, hardware=ASKED, force=NUMBER, fire_door=FLAG, closing=NUMBER, units=UNITS,
            threshold=_object(["height"], height=ASKED, upright=ASKED, altered=FLAG),
            floor=_object(
                ["approach", "side", "depth", "beyond"],
                approach=_words(*Approach), side=_words(*Side), depth=ASKED, beyond=ASKED, closer=FLAG,
            ),
        ),
        _object(
            ["verdict", "items"],
            verdict=_words("pass", "fail"),
            items=_list(_object(["name", "value", "least", "most", "passes", "source"], name=TEXT, passes=FLAG,
                                source={"type": "object"}, value={}, least={}, most={})),
        ),
        {"clear_width": "32 1/4", "threshold": {"height": "1/2", "upright": "1/4"}, "force": 5},
    ),
)  # fmt: skip
