"""Correcting an opening over the API."""

from typing import Any

import pytest

from openings.models import Opening, ScheduleChange, Site
from sitetrack.kit.lengths import parse_length
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening() -> Opening:
    return b.opening(b.site(), "A1")


@pytest.fixture
def api(opening: Opening) -> b.APIClient:
    return b.client(b.supervisor(opening.site))


def change(api: b.APIClient, opening: Opening, facts: Any) -> Any:
    address = f"/api/v1/openings/{opening.pk}"
    return api.patch(address, facts, HTTP_IF_MATCH=api.get(address).headers["ETag"])


def test_a_correction_is_made_recorded_and_answered_with_its_new_tag(api: b.APIClient, opening: Opening) -> None:
    answer = change(api, opening, {"hand": "LHR", "width": "3'-4\"", "rating_minutes": None, "remarks": "as built"})
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert (body["hand"], body["width"]["in"], body["rating_minutes"], body["version"]) == ("LHR", 40.0, None, 2)
    assert body["progress"]["states"]["receive"] == "ready", "and was worked out again"
    assert answer.headers["ETag"] == api.get(f"/api/v1/openings/{opening.pk}").headers["ETag"]
    fields = set(ScheduleChange.objects.values_list("field", flat=True))
    assert fields == {"hand", "width", "rating_minutes", "remarks"}


def test_bare_numbers_are_in_the_sites_units() -> None:
    site: Site = b.site(units="metric")
    opening = b.opening(site)
    api = b.client(b.supervisor(site))
    assert change(api, opening, {"width": 915}).json()["width"]["mm"] == 915.0
    assert change(api, opening, {"height": "2134"}).json()["height"]["mm"] == 2134.0


def test_a_change_without_what_was_read_is_asked_for_it(api: b.APIClient, opening: Opening) -> None:
    check_problem(api.patch(f"/api/v1/openings/{opening.pk}", {"hand": "LH"}), 428, "if-match-missing")


def test_two_who_correct_at_once_do_not_overwrite_each_other(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/openings/{opening.pk}"
    read = api.get(address).headers["ETag"]
    assert api.patch(address, {"hand": "LH"}, HTTP_IF_MATCH=read).status_code == 200
    check_problem(api.patch(address, {"hand": "RHR"}, HTTP_IF_MATCH=read), 412, "changed-since-read")
    opening.refresh_from_db()
    assert opening.hand == "LH"


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"width": "wide"}, "width"), ({"width": "0"}, "width"), ({"width": {"in": 36}}, "width"),
        ({"width": True}, "width"), ({"width": "9" * 400}, "width"), ({"hand": "left"}, "hand"),
        ({"number": ""}, "number"), ({"number": None}, "number"), ({"number": "\u0000"}, "number"),
        ({"leaves": 3}, "leaves"), ({"rating_minutes": -1}, "rating_minutes"),
        ({"rating_minutes": 9999}, "rating_minutes"),
        ({"electrified": "perhaps"}, "electrified"), ({"remarks": "r" * 4001}, "remarks"), ({"x": 1e300}, "x"),
        ({"version": 7}, "version"), ({"site": "other"}, "site"), ({"hnad": "LH"}, "hnad"),
        ([], "body"), ("x", "body"), ({"x": float(10**6)}, "x"),
    ],
    ids=str,
)  # fmt: skip
def test_a_fact_that_cannot_be_used_is_named_and_nothing_is_changed(
    api: b.APIClient, opening: Opening, facts: Any, field: str
) -> None:
    refused = check_problem(change(api, opening, facts), 422, "bad-input")
    assert refused["errors"][0]["field"] == field
    opening.refresh_from_db()
    assert (opening.version, opening.width) == (1, parse_length("36"))


def test_an_infinite_place_is_refused(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/openings/{opening.pk}"
    tag = api.get(address).headers["ETag"]
    body = b'{"x": 1e999}'
    check_problem(api.generic("PATCH", address, body, content_type="application/json", HTTP_IF_MATCH=tag), 422)


def test_a_number_of_another_opening_is_refused(api: b.APIClient, opening: Opening) -> None:
    b.opening(opening.site, "A2")
    check_problem(change(api, opening, {"number": "a2"}), 422, "bad-input")


def test_an_opening_is_neither_made_nor_removed_here(api: b.APIClient, opening: Opening) -> None:
    check_problem(api.post("/api/v1/openings", {"number": "Z"}), 405)
    check_problem(api.put(f"/api/v1/openings/{opening.pk}", {"number": "Z"}), 405)
    check_problem(api.delete(f"/api/v1/openings/{opening.pk}"), 405)
