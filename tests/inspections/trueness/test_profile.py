"""The tolerance profile: stored and read back whole, and picky about what it is given."""

from typing import Any

import pytest

from inspections.standards.limits import Mark
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import DEFAULT_PROFILE, ToleranceProfile


def test_profile_survives_storing() -> None:
    changed = ToleranceProfile.from_dict(
        {"plumb": "1.5 mm", "required": ["twist", "width_head"], "gap_rule": "nfpa80_wood", "units": "metric"}
    )
    for profile in (DEFAULT_PROFILE, changed):
        assert ToleranceProfile.from_dict(profile.to_dict()) == profile
    assert changed != DEFAULT_PROFILE
    assert changed.plumb.length.mm * 2 == 3


def test_stored_limits_keep_their_source_and_mark() -> None:
    stored = DEFAULT_PROFILE.to_dict()
    assert stored["twist"]["mark"] == "read"
    assert stored["width_over"]["mark"] == "memory"
    assert ToleranceProfile.from_dict({"twist": "1/8"}).twist.mark is Mark.SITE


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"plumb": "0"}, "profile.plumb"),
        ({"plumb": "-1/16"}, "profile.plumb"),
        ({"plumb": None}, "profile.plumb"),
        ({"plumb": {"value": "1/0"}}, "profile.plumb.value"),
        ({"plumb": {"value": "nan"}}, "profile.plumb.value"),
        ({"plumb": {"value": "1/16", "unit": "furlong"}}, "profile.plumb.unit"),
        ({"plumb": {"value": "1/16", "mark": "certain"}}, "profile.plumb.mark"),
        ({"plumb": {"value": "1/16", "source": "x" * 500}}, "profile.plumb.source"),
        ({"twsit": "1/16"}, "profile.twsit"),
        ({"required": "twist"}, "profile.required"),
        ({"required": ["twsit"]}, "profile.required"),
        ({"gap_rule": "none"}, "profile.gap_rule"),
        ({"anchor_rule_set": "best"}, "profile.anchor_rule_set"),
        ({"max_swing": 181}, "profile.max_swing"),
        ({"units": "cubits"}, "profile.units"),
        ({"form": 2}, "profile.form"),
        ([], "profile"),
    ],
)
def test_profile_that_cannot_be_used_names_the_setting(given: Any, field: str) -> None:
    with pytest.raises(ReadingError) as caught:
        ToleranceProfile.from_dict(given)
    assert caught.value.field == field
