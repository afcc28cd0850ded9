"""Canonical JSON (RFC 8785) fast enough for every check of a batch.

The standard library's encoder writes what RFC 8785 asks for wherever a value has only text of the basic plane, whole
numbers within 2^53, and fractions that both Python and ECMAScript write without an exponent. Whatever else there is
goes to the rfc8785 package, which is complete and some ten times slower; the tests hold the two against each other.
"""

import json
import re
from typing import Any

import rfc8785

_ENCODE = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False, check_circular=False
).encode
# What RFC 8785 may write otherwise: 1.0, an exponent, more digits than a double holds; and keys from behind the
# surrogates, which sort by UTF-16 code units there and by code points here. Text that only looks so goes along.
_POINTS = (".0,", ".0}", ".0]")
_EXPONENT = re.compile(r"e[-+][0-9]+(?:[,}\]]|$)")
_BEFORE_SURROGATES = bytes(range("\ue000".encode()[0]))
# All digits made one, so that a plain search finds a row of them: a pattern takes twenty times as long.
_ALIKE = bytes.maketrans(b"123456789", b"000000000")
_ROW = b"0" * 16


def canonical_json(value: Any) -> bytes:
    """The one way to write a JSON value, as bytes; raises ValueError for what has none.

    The value is made of what JSON is read into: dictionaries with text for keys, lists, text, numbers, true and null.
    """
    try:
        text = _ENCODE(value)
        written = text.encode()
    except (RecursionError, TypeError):
        return rfc8785.dumps(value)
    return rfc8785.dumps(value) if _doubtful(text, written) else written


def _doubtful(text: str, written: bytes) -> bool:
    # A plain search is far quicker than a pattern, and mostly finds nothing.
    alike = written.translate(_ALIKE)
    return bool(
        any(point in text for point in _POINTS)
        or text.endswith(".0")
        or ((b"0e-0" in alike or b"0e+0" in alike) and _EXPONENT.search(text))
        or _has_many_digits(alike)
        or written.translate(None, _BEFORE_SURROGATES)
    )


def _has_many_digits(alike: bytes) -> bool:
    """Whether there is a row of sixteen that is not a fraction's."""
    at = alike.find(_ROW)
    while at >= 0:
        if alike[at - 1 : at] != b".":
            return True
        while alike[at : at + 1] == b"0":
            at += 1
        at = alike.find(_ROW, at)
    return False
