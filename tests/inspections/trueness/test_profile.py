"""The tolerance profile: stored and read back whole, and picky about what it is given."""

from typing import Any

import pytest

from inspections.standards.limits import Mark
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import DEFAULT_PROFILE, ToleranceProfile
from inspections.trueness.profile_changes import change_profile
from sitetrack.kit.lengths import INCH


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


def test_a_changed_limit_is_the_sites_own_and_says_where_it_stands() -> None:
    changed = change_profile(DEFAULT_PROFILE, {"plumb": "1/32"}, source="Project manual 08 11 13, 3.4 B")
    assert changed.plumb.length * 32 == INCH
    assert (changed.plumb.source, changed.plumb.mark) == ("Project manual 08 11 13, 3.4 B", Mark.SITE)
    assert changed.twist == DEFAULT_PROFILE.twist


def test_a_limit_typed_again_as_it_was_keeps_the_publication_it_is_from() -> None:
    assert change_profile(DEFAULT_PROFILE, {"plumb": "1.5875 mm", "twist": "0.0625"}, source="memo") == DEFAULT_PROFILE


@pytest.mark.parametrize("nothing", [None, "", "1/16"])
def test_a_limit_goes_back_to_what_is_published(nothing: Any) -> None:
    changed = change_profile(DEFAULT_PROFILE, {"plumb": "1/32", "gap_rule": "nfpa80_wood"})
    assert change_profile(changed, {"plumb": nothing, "gap_rule": None}) == DEFAULT_PROFILE


def test_nobody_marks_a_changed_limit_as_read_in_a_publication() -> None:
    given = {"value": "1/4", "unit": "in", "source": "UFGS 08 11 13", "mark": "read"}
    assert change_profile(DEFAULT_PROFILE, {"plumb": given}).plumb.mark is Mark.SITE


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"units": "metric"}, "profile.units"),
        ({"form": 1}, "profile.form"),
        ({"twsit": None}, "profile.twsit"),
        ({"to_dict": ""}, "profile.to_dict"),
        ({"plumb": "0"}, "profile.plumb"),
        ({"plumb": "1/0"}, "profile.plumb"),
        ({"plumb": []}, "profile.plumb"),
        ({"max_swing": 181}, "profile.max_swing"),
        ({"anchor_rule_set": "own"}, "profile.anchor_rule_set"),
    ],
)
def test_a_change_that_cannot_be_used_is_named(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(ReadingError) as refused:
        change_profile(DEFAULT_PROFILE, changes)
    assert refused.value.field == field
