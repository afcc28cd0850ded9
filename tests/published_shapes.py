"""Published shapes that answers are held to, written from the standards' own words.

RFC 9457, 3.1 (members of a problem details object), RFC 3339, 5.6 (date-time), RFC 9562, 5.7 (UUID version 7).
"""

from typing import Any
from uuid import UUID

import jsonschema

# RFC 9457, 3.1: "type" and "instance" are URI references, "status" a number, "title" and "detail" strings; each is
# optional there. That this project always gives the first four is its own promise.
PROBLEM_DETAILS = {
    "type": "object",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "minLength": 1},
        "title": {"type": "string", "minLength": 1},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string", "minLength": 1},
        "instance": {"type": "string", "format": "uri-reference"},
        "errors": {"type": "array", "minItems": 1, "items": {"type": "object", "required": ["field", "detail"]}},
    },
}
DATE_TIME = {"type": "string", "format": "date-time", "pattern": "Z$"}


def check_shape(value: Any, shape: dict[str, Any]) -> None:
    """Fail where a value has not the shape, formats included."""
    jsonschema.validate(value, shape, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER)


def check_problem(response: Any, status: int, code: str = "") -> dict[str, Any]:
    """Fail where an answer is not problem details of this status; returns them."""
    assert response.status_code == status, response.content
    assert response.headers["Content-Type"] == "application/problem+json"
    body: dict[str, Any] = response.json()
    check_shape(body, PROBLEM_DETAILS)
    assert body["status"] == status, "RFC 9457, 3.1.2: the member has to be the status of the answer"
    if code:
        assert body["type"] == f"/problems/{code}"
    return body


def unix_ms_of(id_: UUID) -> int:
    """Milliseconds of a version 7 UUID; fails where its version or variant bits are not those of RFC 9562, 5.7."""
    assert (id_.int >> 76) & 0b1111 == 0b0111, "version"
    assert (id_.int >> 62) & 0b11 == 0b10, "variant"
    return id_.int >> 80
