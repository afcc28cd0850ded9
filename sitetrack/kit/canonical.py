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
# What RFC 8785 may write otherwise: 1.0, an exponent, more digits than a double holds; and keys from the surrogates
# on, which sort by UTF-16 code units there and by code points here. Text that only looks so goes along.
_POINT = re.compile(r"\.0(?:[,}\]]|$)")
_EXPONENT = re.compile(r"[0-9]e[-+][0-9]+(?:[,}\]]|$)")
_MANY_DIGITS = re.compile(r"(?<![.0-9])[0-9]{16}")
_BEYOND = re.compile("[\ud800-\U0010ffff]")


def canonical_json(value: Any) -> bytes:
    """The one way to write a JSON value, as bytes; raises ValueError for what has none.

    The value is made of what JSON is read into: dictionaries with text for keys, lists, text, numbers, true and null.
    """
    try:
        text = _ENCODE(value)
    except (RecursionError, TypeError):
        return rfc8785.dumps(value)
    return rfc8785.dumps(value) if _doubtful(text) else text.encode()


def _doubtful(text: str) -> bool:
    # A plain search is far quicker than a pattern, and mostly finds nothing.
    return bool(
        (".0" in text and _POINT.search(text))
        or (("e-" in text or "e+" in text) and _EXPONENT.search(text))
        or _MANY_DIGITS.search(text)
        or (not text.isascii() and _BEYOND.search(text))
    )
