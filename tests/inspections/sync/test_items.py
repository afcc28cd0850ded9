"""Items as a phone sends them: well-formed ones become reports, the rest are refused naming the field."""

from contextlib import suppress
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.sync.items import read_item, sent_id
from sitetrack.kit.problems import BadInput

ID = "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11"
SITE = "01955700-0000-7000-8000-000000000001"
DIGEST = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"  # SHA-256 of nothing, FIPS 180-4


def item(**members: Any) -> dict[str, Any]:
    least = {"id": ID, "site": SITE, "opening": "B1-2014", "stage": "trueness", "action": "finish",
             "happened_at": "2026-03-02T14:05:09Z"}  # fmt: skip
    return {**least, **members}


def test_the_least_item_has_its_defaults() -> None:
    report = read_item(item()).report
    assert report.id == UUID(ID)
    assert (report.counter, report.about, report.note) == (None, None, "")
    assert (report.readings, report.answers, report.photos, report.extra) == ({}, {}, (), {})
    assert report.happened_at == datetime(2026, 3, 2, 14, 5, 9, tzinfo=UTC)


def test_a_full_item_is_read_whole() -> None:
    given = item(
        action="sign", about=ID, counter=41, readings={"width_head": "36 1/16", "twist": None, "head_level": ""},
        answers={"spreaders_in": True, "label": None}, note=" as read ", photos=[DIGEST, DIGEST],
    )  # fmt: skip
    found = read_item(given)
    assert found.site == UUID(SITE)
    assert found.report.about == UUID(ID)
    assert found.report.counter == 41
    assert found.report.readings == {"width_head": "36 1/16", "head_level": ""}
    assert found.report.answers == {"spreaders_in": True}
    assert found.report.note == "as read"
    assert found.report.photos == (DIGEST,)
    assert found.report.raw is given


def test_members_of_a_newer_app_are_kept() -> None:
    found = read_item(item(helmet="yellow", weather={"wind": [1, 2.5]}))
    assert found.report.extra == {"helmet": "yellow", "weather": {"wind": [1, 2.5]}}


def test_floor_rises_come_as_pairs_and_are_kept_as_text() -> None:
    found = read_item(item(readings={"floor_rise": [[0, "0"], [45.5, "1/8"], [90, "1/4"]]}))
    assert found.report.readings == {"floor_rise": "0: 0; 45.5: 1/8; 90: 1/4"}


def test_the_same_content_has_the_same_digest_whatever_the_order_of_its_members() -> None:
    turned = dict(reversed(item().items()))
    assert read_item(item()).report.digest == read_item(turned).report.digest
    assert read_item(item()).report.digest != read_item(item(note="x")).report.digest


# RFC 3339, 5.8, its own examples; the leap second of 1990 counts as the second after it.
@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, tzinfo=UTC)),
        ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, tzinfo=UTC)),
        ("2026-03-02t14:05:09z", datetime(2026, 3, 2, 14, 5, 9, tzinfo=UTC)),
        ("2026-03-02T14:05:09.123456789Z", datetime(2026, 3, 2, 14, 5, 9, 123_456, tzinfo=UTC)),
    ],
)
def test_moments_of_rfc_3339_are_read(text: str, moment: datetime) -> None:
    assert read_item(item(happened_at=text)).report.happened_at == moment


BAD = [
    ("id", None), ("id", 7), ("id", ""), ("id", ID.replace("-", "")), ("id", "{" + ID + "}"), ("id", "x" * 36),
    ("id", "6ba7b810-9dad-41d1-80b4-00c04fd430c8"),  # version 4
    ("id", "0195575e-30c0-7a31-0f3b-5b6a2f0d9c11"),  # not the variant of RFC 9562
    ("site", None), ("site", "clinic"), ("site", 5),
    ("opening", None), ("opening", ""), ("opening", "  "), ("opening", 2014), ("opening", "9" * 41),
    ("stage", None), ("stage", ["trueness"]), ("stage", "s" * 41),
    ("action", None), ("action", "done"), ("action", ["finish"]), ("action", {}),
    ("happened_at", None), ("happened_at", 1772460309), ("happened_at", "2026-03-02T14:05:09"),
    ("happened_at", "2026-03-02"), ("happened_at", "2026-W10-1T14:05:09Z"), ("happened_at", "2026-02-30T14:05:09Z"),
    ("happened_at", "2026-03-02T25:05:09Z"), ("happened_at", "0001-01-01T00:00:00+14:00"),
    ("happened_at", "9999-12-31T23:59:59-23:59"), ("happened_at", "20260302T140509Z"),
    ("happened_at", "2026-03-02T14:05:09+99:00"), ("happened_at", "٢٠٢٦-03-02T14:05:09Z"),
    ("counter", -1), ("counter", 1.5), ("counter", "41"), ("counter", True), ("counter", 2**63), ("counter", 10**400),
    ("about", "the one before"), ("about", 5),
    ("readings", []), ("readings", "36"), ("readings", {str(n): "1" for n in range(61)}), ("readings", {"": "1"}),
    ("readings.width_head", 36.0625), ("readings.width_head", "1" * 41), ("readings.width_head", True),
    ("readings.width_head", ["36"]), ("readings.floor_rise", [[90]]), ("readings.floor_rise", [[181, "0"]]),
    ("readings.floor_rise", [["90", "0"]]), ("readings.floor_rise", [[90, 0.25]]),
    ("readings.floor_rise", [[90, "0; 91: 5"]]), ("readings.floor_rise", [[0, "0"]] * 61),
    ("answers", ["spreaders_in"]), ("answers.spreaders_in", "yes"), ("answers.spreaders_in", 1),
    ("note", 5), ("note", "n" * 4001), ("note", ["n"]),
    ("photos", DIGEST), ("photos", [DIGEST] * 13), ("photos[0]", DIGEST.upper()), ("photos[0]", DIGEST[1:]),
    ("photos[0]", 1), ("photos[0]", None),
]  # fmt: skip


def with_bad(field: str, value: Any) -> dict[str, Any]:
    if field.startswith("photos["):
        return item(photos=[value])
    outer, _, inner = field.partition(".")
    return item(**{outer: {inner: value} if inner else value})


@pytest.mark.parametrize(("field", "value"), BAD, ids=lambda v: str(v)[:30])
def test_a_field_that_cannot_be_used_is_named_with_what_would_do(field: str, value: Any) -> None:
    with pytest.raises(BadInput) as refused:
        read_item(with_bad(field, value))
    error = refused.value.errors[0]
    base = field.partition("[")[0]
    assert error.field.startswith(base), (error.field, field)
    assert error.expected
    assert len(str(refused.value)) < 500, "what was read is shown, but never at length"


@pytest.mark.parametrize("action", ["sign", "void", "release"])
def test_what_is_about_another_check_in_must_name_it(action: str) -> None:
    with pytest.raises(BadInput, match="about: nothing can't be used"):
        read_item(item(action=action))


@pytest.mark.parametrize("raw", [None, 7, "item", [], [ID], True, 1.5])
def test_what_is_no_object_is_refused(raw: Any) -> None:
    with pytest.raises(BadInput, match="an object"):
        read_item(raw)
    assert sent_id(raw) is None


@pytest.mark.parametrize(
    "members",
    [
        {"weather": "\u0000"}, {"note": "a\u0000b"}, {"\u0000": 1}, {"weather": float("inf")}, {"weather": "\ud800"},
        {"weather": "w" * 33_000}, {"weather": [[[[[[[[[]]]]]]]]]},
    ],
    ids=["NUL", "NUL in a note", "NUL in a name", "infinite", "half a pair", "too much", "too deep"],
)  # fmt: skip
def test_what_no_data_base_can_hold_is_refused_and_not_stored_in_part(members: dict[str, Any]) -> None:
    with pytest.raises(BadInput, match="The item has"):
        read_item(item(**members))


def test_the_characters_that_spell_nul_are_not_nul() -> None:
    assert read_item(item(note="a\\u0000b")).report.note == "a\\u0000b"


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
members = st.sampled_from(
    sorted(item() | {"counter": 1, "about": 1, "readings": 1, "answers": 1, "note": 1, "photos": 1})
)


@given(st.dictionaries(members, json_values, max_size=4))
@settings(max_examples=300)
def test_nothing_a_phone_can_send_breaks_the_reading(changes: dict[str, Any]) -> None:
    with suppress(BadInput):  # a refusal in words is the only other thing that may happen
        assert read_item(item(**changes)).report.raw == item(**changes)
