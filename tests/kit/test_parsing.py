"""Bodies that can't be taken, refused before they cost anything."""

import pytest

from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db
PUSH = "/api/v1/sync/push"


@pytest.fixture
def api() -> b.APIClient:
    return b.client(b.supervisor(b.site()))


@pytest.mark.parametrize(
    "body",
    [
        b'{"check_ins": [',
        b"\xff\xfe",
        b'{"device_time": NaN}',
        b"[" * 100_000,
        b'{"a":' * 50_000,
        b'{"check_ins": [' + b"9" * 5000 + b"]}",
    ],
    ids=["cut off", "not UTF-8", "NaN", "nested lists", "nested objects", "endless number"],
)
def test_what_is_no_json_is_refused_in_words(api: b.APIClient, body: bytes) -> None:
    check_problem(api.generic("POST", PUSH, body, content_type="application/json"), 400, "parse-error")


@pytest.mark.parametrize(
    ("method", "path"),
    [("POST", "/api/v1/calculations/wall"), ("POST", "/api/v1/devices/enrol"), ("PATCH", "/api/v1/openings/{opening}")],
)
@pytest.mark.parametrize("body", [rb'{"stud": "\ud800", "code": "\udfff", "name": "x"}', rb'{"\ud800": 1}'])
def test_half_a_character_is_refused_and_its_refusal_can_be_sent(method: str, path: str, body: bytes) -> None:
    opening = b.opening(b.site())
    api = b.client(b.supervisor(opening.site))
    address = path.format(opening=opening.pk)
    check_problem(api.generic(method, address, body, content_type="application/json", HTTP_IF_MATCH="*"), 422)


def test_another_form_than_json_is_refused(api: b.APIClient) -> None:
    check_problem(api.generic("POST", PUSH, b"a=1", content_type="application/x-www-form-urlencoded"), 415)


def test_a_body_over_the_bound_is_refused_by_its_length(api: b.APIClient) -> None:
    body = b'{"stud": "' + b"x" * 30_000 + b'"}'
    refused = check_problem(
        api.generic("POST", "/api/v1/calculations/wall", body, content_type="application/json"), 413, "too-large"
    )
    assert "20,000" in refused["detail"]
