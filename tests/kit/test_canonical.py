"""The fast way to canonical JSON against the rfc8785 package, an independent and complete writer of RFC 8785."""

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from sitetrack.kit.canonical import canonical_json

TEXTS = st.text(max_size=12)
NUMBERS = st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(TEXTS, inner, max_size=5),
    max_leaves=20,
)


@given(VALUES)
def test_any_value_is_written_as_the_complete_writer_does(value):
    assert canonical_json(value) == rfc8785.dumps(value)


@pytest.mark.parametrize(
    "value",
    [
        0.0, -0.0, 1.0, 36.0625, 0.0001, 0.00001, 5e-324, 1e16, 1e21, 2.0**53, 123456789012345680.0, -1e-7,
        [1.0, 2.0], {"a": 3.0}, 1e22, {"a": 1e-5}, {"note": "36.0, 5e-07}"}, 9007199254740991, [0.1 + 0.2],
        {"\ue000": 1, "\U0001f6aa": 2}, {"b": 1, "a": {"d": [1.0, None, True], "c": "\u2028\x7f\x1f\"\\/"}},
    ],
)  # fmt: skip
def test_where_python_and_ecmascript_write_numbers_and_order_differently(value):
    assert canonical_json(value) == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, [2**60], {"a": "\ud800"}])
def test_what_has_no_canonical_form_is_refused_as_by_the_complete_writer(value):
    with pytest.raises(ValueError):  # noqa: PT011 - rfc8785's errors and the encoder's are all of this kind
        rfc8785.dumps(value)
    with pytest.raises(ValueError):  # noqa: PT011
        canonical_json(value)
