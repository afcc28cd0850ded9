"""The calculations as answered: their shapes, their sources, and what they say of bad input."""

import json
import time
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from inspections.trueness import answers
from inspections.trueness.errors import ReadingError

LENGTH = {
    "type": "object",
    "required": ["text", "in", "mm"],
    "additionalProperties": False,
    "properties": {"text": {"type": "string"}, "in": {"type": "number"}, "mm": {"type": "number"}},
}
SOURCE = {
    "type": "object",
    "required": ["name", "edition", "mark"],
    "properties": {
        "name": {"type": "string", "minLength": 1},
        "mark": {"enum": ["read", "mirror", "secondary", "memory", "derived", "common_practice", "site"]},
    },
}
SOURCES = {"type": "array", "minItems": 1, "items": SOURCE}


def shape(**properties: Any) -> dict[str, Any]:
    return {"type": "object", "required": list(properties), "properties": properties}


def listed(items: Any) -> dict[str, Any]:
    return {"type": "array", "items": items}


SHAPES: dict[str, dict[str, Any]] = {
    "wall": shape(
        wall_thickness=LENGTH,
        throat=LENGTH,
        slack=LENGTH,
        verdict={"enum": ["fits", "tight", "too_narrow"]},
        sources=SOURCES,
    ),
    "anchors": shape(
        per_jamb={"type": "integer"},
        head={"type": "integer"},
        base={"const": 2},
        heights=listed(LENGTH),
        rule_set={"type": "string"},
        other_rule_sets=listed(shape(rule_set={"type": "string"}, per_jamb={"type": "integer"}, source=SOURCE)),
        sources=SOURCES,
    ),
    "hinges": shape(count={"type": "integer"}, size=LENGTH, heights=listed(LENGTH), sources=SOURCES),
    "floor": shape(setting=LENGTH, floor_clearance=LENGTH, within_travel={"type": "boolean"}, sources=SOURCES),
    "frame_check": shape(
        verdict={"enum": ["pass", "fail", "incomplete"]},
        items=listed(
            shape(
                name={"type": "string"},
                value=LENGTH,
                limit=LENGTH,
                margin=LENGTH,
                verdict={"enum": ["pass", "fail"]},
                source=SOURCE,
            )
        ),
        contradictions={"type": "array"},
        suspect={"type": ["string", "null"]},
    ),
    "door_fit": shape(
        verdict={"enum": ["free", "binds", "drags"]},
        gaps=shape(strike_head=LENGTH, strike_mid=LENGTH, strike_floor=LENGTH, head_hinge=LENGTH, head_strike=LENGTH),
        stop_misfit=LENGTH,
        floor_clearance=shape(least=LENGTH, at_angle={"type": "number"}),
        self_swing={"enum": ["opens", "closes", "rests"]},
        where=listed(shape(place={"type": "string"}, problem={"enum": ["binds", "drags", "wide"]}, by=LENGTH)),
        sources=SOURCES,
    ),
    "advice": shape(
        moves=listed(
            shape(order={"type": "integer"}, part={"type": "string"}, direction={"type": "string"}, amount=LENGTH)
        ),
        predicted={"type": "object", "additionalProperties": LENGTH},
        verdict_after={"enum": ["pass", "fail", "incomplete"]},
    ),
}

CHECK = {
    "opening": {"width": "3'-0\"", "height": "7'-0\"", "hand": "LHR"},
    "leaf": {"width": "35 3/4", "height": "83 1/8"},
    "readings": {
        "width_head": "36 1/16",
        "width_mid": "36",
        "width_floor": "36",
        "hinge_plumb_side": "1/16",
        "strike_plumb_side": "1/8",
        "hinge_plumb_face": "0",
        "strike_plumb_face": "3/16",
        "head_level": "1/16",
        "squareness": "3/32",
        "alignment": "1/16",
        "twist": "3/16",
        "floor_rise": [[0, "0"], [90, "1/4"]],
    },
}
REQUESTS: dict[str, dict[str, Any]] = {
    "wall": {
        "stud": "3 5/8",
        "boards_pull": ["5/8"],
        "boards_push": ["5/8"],
        "jamb_depth": "5 3/4",
        "return": "7/16",
    },
    "anchors": {"frame_height": "7'-0\"", "frame_width": "3'-0\"", "wall": "steel_stud"},
    "hinges": {"frame_height": "7'-0\"", "frame_width": "3'-0\"", "wall": "steel_stud"},
    "floor": {"covering": "3/8"},
    "frame_check": CHECK,
    "door_fit": CHECK,
    "advice": CHECK,
}


def ask(name: str, request: Any) -> Any:
    return getattr(answers, name)(request)


@pytest.mark.parametrize("name", list(SHAPES))
def test_answer_has_its_shape_and_is_plain_json(name: str) -> None:
    answer = ask(name, REQUESTS[name])
    Draft202012Validator(SHAPES[name]).validate(json.loads(json.dumps(answer)))


def test_seven_foot_frame_in_studs() -> None:
    """Project specification 08 11 13: 4 a jamb; NFPA 80, 6.4: 3 hinges; hinge guide: 4-1/2 in; all at 84 in."""
    anchors, hinges = ask("anchors", REQUESTS["anchors"]), ask("hinges", REQUESTS["hinges"])
    assert (anchors["per_jamb"], anchors["head"], anchors["base"], len(anchors["heights"])) == (4, 0, 2, 4)
    assert (hinges["count"], hinges["size"]["in"], len(hinges["heights"])) == (3, 4.5, 3)
    for hinge in hinges["heights"]:
        assert any(0 < anchor["in"] - hinge["in"] <= 9 for anchor in anchors["heights"])


def test_covering_past_the_travel_of_the_base_anchors_is_said() -> None:
    """Base anchors travel at least 2 in: public-agency project specification 08 11 13 (read)."""
    deep = ask("floor", {"covering": "2 1/2", "foot_on": "finish"})
    assert deep["within_travel"] is False
    assert deep["floor_clearance"]["in"] == 0.25
    set_up = ask("floor", {"covering": "3/4", "foot_on": "finish"})
    assert (set_up["setting"]["in"], set_up["floor_clearance"]["in"], set_up["verdict"]) == (0.75, 0.75, "fits")
    assert ask("floor", {"covering": "3/4"})["verdict"] == "too_small"


def test_metric_request_is_answered_in_metric() -> None:
    answer = ask("wall", {"units": "metric", "stud": "92", "boards_pull": [16], "boards_push": ["15"],
                          "jamb_depth": "146", "return": "11"})  # fmt: skip
    assert answer["wall_thickness"]["text"] == "123 mm"
    check = {**CHECK, "opening": {"width": "914.4", "height": "2133.6"}, "leaf": None, "units": "metric",
             "readings": {"twist": "2"}}  # fmt: skip
    assert ask("frame_check", check)["items"][0]["value"]["text"] == "2 mm"


BIG = "9" * 10_000_000
BAD_LENGTHS = [
    ("", "reading-missing"),
    (None, "reading-missing"),
    ("0", "length-not-positive"),
    ("-36", "length-not-positive"),
    ("nan", "length-unreadable"),
    (float("nan"), "length-out-of-range"),
    ("1/0", "length-unreadable"),
    ("3'-0 13", "length-unreadable"),
    ("3'-13\"", "length-unreadable"),
    ("3' 20 mm", "length-unreadable"),
    ("7 mm", "length-out-of-range"),
    (BIG, "length-too-long-text"),
    (["36"], "reading-missing"),
]
FIELDS = [
    ("frame_check", "opening.width"),
    ("frame_check", "opening.height"),
    ("door_fit", "opening.height"),
    ("advice", "opening.width"),
    ("anchors", "frame_height"),
    ("anchors", "frame_width"),
    ("hinges", "frame_height"),
    ("wall", "stud"),
    ("wall", "jamb_depth"),
]


@pytest.mark.parametrize(("bad", "code"), [pytest.param(*each, id=repr(each[0])[:20]) for each in BAD_LENGTHS])
@pytest.mark.parametrize(("name", "field"), FIELDS)
def test_size_that_is_none_is_refused_by_name(name: str, field: str, bad: Any, code: str) -> None:
    request = json.loads(json.dumps(REQUESTS[name]))
    *path, last = field.split(".")
    holder = request[path[0]] if path else request
    holder[last] = bad
    before = time.perf_counter()
    with pytest.raises(ReadingError) as caught:
        ask(name, request)
    assert time.perf_counter() - before < 0.2
    assert caught.value.field == field
    assert caught.value.code == code
    assert caught.value.expected
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize(
    ("name", "change", "field"),
    [
        ("frame_check", {"readings": {"widht_head": "36"}}, "readings.widht_head"),
        ("frame_check", {"readings": []}, "readings"),
        ("frame_check", {"readings": {"floor_rise": [[200, "1/4"]]}}, "readings.floor_rise[0]"),
        ("frame_check", {"readings": {"floor_rise": [[float("nan"), "1/4"]]}}, "readings.floor_rise[0]"),
        ("frame_check", {"readings": {"floor_rise": [[10, "1/4"], [10, "1/8"]]}}, "readings.floor_rise"),
        ("frame_check", {"readings": {"floor_rise": [[10, "x"]]}}, "readings.floor_rise[0]"),
        ("frame_check", {"readings": {"floor_rise": [[i, "0"] for i in range(100)]}}, "readings.floor_rise"),
        ("frame_check", {"readings": {"floor_rise": 7}}, "readings.floor_rise"),
        ("frame_check", {"readings": {f"r{i}": "0" for i in range(500)}}, "readings"),
        ("frame_check", {"opening": None}, "opening"),
        ("frame_check", {"opening": {"width": "36", "height": "84", "hand": "L"}}, "opening.hand"),
        ("frame_check", {"opening": {"width": "36", "height": "84", "leaves": 3}}, "opening.leaves"),
        ("frame_check", {"opening": {"width": "36", "height": "84", "leaves": True}}, "opening.leaves"),
        ("frame_check", {"opening": {"width": "36", "height": "84", "foot_on": "air"}}, "opening.foot_on"),
        ("frame_check", {"opening": {"width": "36", "height": "84", "rating_minutes": -1}}, "opening.rating_minutes"),
        ("door_fit", {"leaf": "big"}, "leaf"),
        ("door_fit", {"leaf": {"width": "0"}}, "leaf.width"),
        ("advice", {"profile": {"plumb": "no"}}, "profile.plumb"),
        ("advice", {"units": "cubits"}, "units"),
        ("wall", {"boards_pull": "5/8"}, "boards_pull"),
        ("wall", {"boards_push": ["5/8", "-1/2"]}, "boards_push[1]"),
        ("wall", {"boards_push": ["5/8"] * 9}, "boards_push"),
        ("wall", {"return": "2", "jamb_depth": "3"}, "return"),
        ("anchors", {"wall": "straw"}, "wall"),
        ("anchors", {"rule_set": "hmma", "wall": "existing"}, "rule_set"),
        ("anchors", {"rule_set": ["sdi"]}, "rule_set"),
        ("hinges", {"layout": "random"}, "layout"),
        ("hinges", {"leaves": 0}, "leaves"),
        ("floor", {"covering": "-1/8"}, "covering"),
        ("floor", {"travel": "x"}, "travel"),
    ],
)
def test_anything_else_unusable_names_its_field(name: str, change: dict[str, Any], field: str) -> None:
    with pytest.raises(ReadingError) as caught:
        ask(name, {**REQUESTS[name], **change})
    assert caught.value.field == field
    assert caught.value.expected


@pytest.mark.parametrize("name", list(SHAPES))
@pytest.mark.parametrize("request_", [None, [], "x", 7, {}], ids=repr)
def test_request_that_is_no_request_is_refused(name: str, request_: Any) -> None:
    with pytest.raises(ReadingError):
        ask(name, request_)


def test_floor_rise_may_come_as_text_from_a_form() -> None:
    as_text = {**CHECK, "readings": {"floor_rise": "0: 0; 45: 1/4; 90: 7/8"}}
    as_rows = {**CHECK, "readings": {"floor_rise": [{"angle": 45, "rise": "1/4"}, {"angle": 90, "rise": "7/8"}]}}
    assert ask("door_fit", as_text) == ask("door_fit", as_rows)
    assert ask("door_fit", as_text)["verdict"] == "drags"


def test_one_check_is_judged_fitted_and_advised_in_well_under_a_frame_of_film() -> None:
    """The budget is a median of 1 ms; ten times that only catches a blunder, so that a busy machine fails nothing."""
    took = []
    for _ in range(30):
        before = time.perf_counter()
        for name in ("frame_check", "door_fit", "advice"):
            ask(name, CHECK)
        took.append(time.perf_counter() - before)
    assert sorted(took)[15] < 0.03
