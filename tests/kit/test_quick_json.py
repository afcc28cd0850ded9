"""Answers written quickly say what the REST framework's renderer says, and columns what was put into them."""

import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from django.utils.translation import gettext_lazy
from hypothesis import given
from hypothesis import strategies as st
from rest_framework.renderers import JSONRenderer

from sitetrack.access.roles import Role
from sitetrack.kit.quick_json import QuickJSONRenderer, json_text

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
PLAIN = st.none() | st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False, allow_infinity=False)
VALUES = st.recursive(
    PLAIN | TEXTS,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(TEXTS, inner, max_size=5),
    max_leaves=20,
)


@given(VALUES)
def test_any_value_is_read_back_as_from_the_framework(value: Any) -> None:
    assert json.loads(QuickJSONRenderer().render([value])) == json.loads(JSONRenderer().render([value]))


@pytest.mark.parametrize(
    "value",
    [
        datetime(2026, 3, 2, 14, 5, 9, 123456, tzinfo=UTC), datetime(2026, 3, 2, 14, 5, 9), date(2026, 3, 2),  # noqa: DTZ001
        time(6, 30), timedelta(hours=2), Decimal("1.50"), UUID(int=7), gettext_lazy("Today"), Role.CREW, (1, 2),
        {1: "a key that is no text"}, None,
    ],
)  # fmt: skip
def test_what_json_has_no_words_for_is_written_as_by_the_framework(value: Any) -> None:
    assert QuickJSONRenderer().render(value) == JSONRenderer().render(value)


def test_half_a_character_is_refused_as_by_the_framework() -> None:
    with pytest.raises(UnicodeEncodeError):
        JSONRenderer().render({"note": "\ud800"})
    with pytest.raises(UnicodeEncodeError):
        QuickJSONRenderer().render({"note": "\ud800"})


def test_indented_where_that_is_asked_for() -> None:
    asked = "application/json; indent=2"
    assert QuickJSONRenderer().render({"a": [1]}, asked) == JSONRenderer().render({"a": [1]}, asked)


@given(VALUES)
def test_a_column_keeps_any_value(value: Any) -> None:
    assert json.loads(json_text(value)) == value
