"""A site as a pull tells it: three floors, the shipped plan for stud walls, a frame crew's phone. All invented."""

import json
from pathlib import Path
from typing import Any

from inspections.sync.site_records import limits_for_phone
from inspections.trueness.profile import ToleranceProfile
from sitetrack.kit.lengths import length_json, parse_length

PLAN = json.loads((Path(__file__).parents[2] / "fixtures/sequence_plans/steel_stud.json").read_text())
SITE_ID = "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11"
PERSON_ID = "0195575e-30c0-7a31-8f3b-5b6a2f0d9c21"
SIGNER_ID = "0195575e-30c0-7a31-8f3b-5b6a2f0d9c22"
READING_ID = "0195575e-30c0-7a31-8f3b-5b6a2f0dffff"
FLOOR_IDS = [f"0195575e-30c0-7a31-8f3b-5b6a2f0d9d{n}0" for n in range(1, 4)]
PLAN_ID = "0195575e-30c0-7a31-8f3b-5b6a2f0d9e00"
BEFORE_TRUENESS = ["receive", "match", "ffl", "layout", "set", "stud", "anchor"]
NOT_NEEDED = ["assemble", "roughin", "flooring"]


def site_change(**told: Any) -> dict[str, Any]:
    data = {
        "code": "clinic",
        "name": "Cedar Street Clinic",
        "units": "imperial",
        "language": "en",
        "time_zone": "America/Chicago",
        "role": "crew",
        "trades": ["frame_crew"],
        "person": {"id": PERSON_ID, "name": "Ada Okafor"},
        "company": {"id": "c1", "name": "Plumb & True Frames"},
        "two_persons": True,
        "signers": [{"id": SIGNER_ID, "name": "Sam Ortiz", "role": "supervisor"}],
    }
    return {"type": "site", "id": SITE_ID, "data": data | told}


def floor_changes() -> list[dict[str, Any]]:
    names = ["Level 1", "Level 2", "Level 3"]
    return [
        {"type": "floor", "id": id_, "data": {"code": f"L{n}", "name": name, "level": n}}
        for n, (id_, name) in enumerate(zip(FLOOR_IDS, names, strict=True), 1)
    ]


def plan_change() -> dict[str, Any]:
    return {
        "type": "plan",
        "id": PLAN_ID,
        "data": {"code": PLAN["code"], "name": PLAN["name"], "stages": PLAN["stages"]},
    }


def profile_change(**settled: Any) -> dict[str, Any]:
    data = limits_for_phone(ToleranceProfile.from_dict(settled or None))
    return {"type": "profile", "id": "0195575e-30c0-7a31-8f3b-5b6a2f0d9f00", "data": data}


def standing_at(stage: str) -> dict[str, Any]:
    """The standing of an opening at which this stage is the next to do."""
    codes = [each["code"] for each in PLAN["stages"]]
    place = codes.index(stage)
    standing: dict[str, Any] = {}
    for n, code in enumerate(codes):
        state = "not needed" if code in NOT_NEEDED else "done" if n < place else "ready" if n == place else "waiting"
        standing[code] = {"state": state, "actionable": n == place, "awaits_signature": False, "since": None,
                          "reading": None}  # fmt: skip
    return standing


def opening_change(n: int, *, number: str = "", floor: int = 1, at: str = "trueness", **told: Any) -> dict[str, Any]:
    """The n-th opening of a floor, alternately on either side of a corridor, a frame every three metres."""
    data = {
        "number": number or f"{floor + 1}{n:03}",
        "floor": FLOOR_IDS[floor],
        "walk": n,
        "x": 3.0 * n,
        "y": 2.0 * (n % 2),
        "plan": PLAN_ID,
        "in_schedule": True,
        "attributes": {
            "width": length_json(parse_length("3'-0\"")),
            "height": length_json(parse_length("7'-0\"")),
            "size_is": "opening",
            "hand": "RH",
            "leaves": 1,
            "mark": "F1",
            "construction": "welded",
            "jamb_depth": length_json(parse_length("5 3/4")),
            "rating_minutes": 45,
            "electrified": False,
            "hardware_set": "HS-04",
            "covering": "",
            "room_from": "Corridor",
            "room_to": f"Exam {n}",
        },
        "standing": standing_at(at),
        "next_stage": at,
        "next_trade": "frame_crew",
        "held": False,
    }
    return {"type": "opening", "id": f"0195575e-30c0-7a31-8f3b-{floor:04x}{n:08x}", "data": data | told}


def signable_change() -> dict[str, Any]:
    """An opening whose reading before board waits for its signature."""
    standing = standing_at("trueness")
    standing["trueness"] |= {"state": "underway", "awaits_signature": True, "reading": READING_ID}
    return opening_change(50, number="SIGN-1", standing=standing)


def whole_site(openings: int = 45) -> list[dict[str, Any]]:
    """Everything a first load tells."""
    return [
        site_change(),
        *floor_changes(),
        plan_change(),
        profile_change(),
        *(opening_change(n) for n in range(1, openings + 1)),
        *(opening_change(n, floor=0, at="match") for n in range(1, 6)),
    ]
