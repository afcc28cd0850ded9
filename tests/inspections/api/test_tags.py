"""ETags of single objects (RFC 9110, 8.8.3 and 13.1) and what holds a change to what was read."""

import pytest

from openings.models import Opening, Site
from sitetrack.api_urls import RESOURCES
from tests import builders as b
from tests.inspections.api.test_scope import WITHOUT_SINGLE_OBJECTS
from tests.inspections.api.world import make_world
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def opening(clinic: Site) -> Opening:
    return b.opening(clinic)


@pytest.fixture
def api(clinic: Site) -> b.APIClient:
    return b.client(b.supervisor(clinic))


def test_every_single_object_has_a_tag_and_answers_not_changed_to_it() -> None:
    world = make_world()
    api = b.client(world.people["supervisor"])
    for resource in set(RESOURCES) - WITHOUT_SINGLE_OBJECTS:
        address = f"/api/v1/{resource}/{min(world.keys[resource])}"
        tag = api.get(address).headers["ETag"]
        again = api.get(address, HTTP_IF_NONE_MATCH=tag)
        assert (again.status_code, again.content, again.headers["ETag"]) == (304, b"", tag), resource
        assert api.get(address, HTTP_IF_NONE_MATCH='"other"').status_code == 200


def test_the_tag_of_an_opening_changes_with_its_progress(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/openings/{opening.pk}"
    before = api.get(address).headers["ETag"]
    b.check_in(b.crew(opening.site), opening)
    assert api.get(address, HTTP_IF_NONE_MATCH=before).status_code == 200
    assert api.get(address).headers["ETag"] != before


def test_a_tag_made_weak_by_compressing_still_counts(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/openings/{opening.pk}"
    packed = api.get(address, HTTP_ACCEPT_ENCODING="gzip")
    assert packed.headers["Content-Encoding"] == "gzip"
    tag = packed.headers["ETag"]
    assert tag.startswith("W/")
    assert api.get(address, HTTP_IF_NONE_MATCH=tag).status_code == 304


def test_a_private_answer_is_not_for_shared_caches(api: b.APIClient, opening: Opening) -> None:
    assert "private" in api.get(f"/api/v1/openings/{opening.pk}").headers["Cache-Control"]


def test_an_alert_is_acknowledged_once_by_the_first(api: b.APIClient, opening: Opening) -> None:
    alert = b.alert(opening)
    address = f"/api/v1/alerts/{alert.pk}"
    first = api.post(f"{address}/acknowledge").json()
    assert first["acknowledged_by"] == str(b.supervisor(opening.site).pk)
    again = b.client(b.inspector(opening.site)).post(f"{address}/acknowledge").json()
    assert again == first
    assert api.get("/api/v1/alerts?acknowledged=true").json()["results"][0]["id"] == str(alert.pk)


def test_an_alert_is_closed_by_a_named_person_with_a_reason(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/alerts/{b.alert(opening).pk}"
    for nothing in ({}, {"why": ""}, {"why": "   "}, {"why": None}, {"why": "x" * 2001}, {"why": ["x"]}):
        refused = check_problem(api.post(f"{address}/close", nothing), 422, "bad-input")
        assert refused["errors"][0]["field"] == "why"
    closed = api.post(f"{address}/close", {"why": "Board off, frame reset."})
    body = closed.json()
    assert (body["closed_how"], body["closed_why"]) == ("person", "Board off, frame reset.")
    assert closed.headers["ETag"] == api.get(address).headers["ETag"]
    assert api.post(f"{address}/close", {"why": "Another reason"}).json() == body


def test_a_change_of_what_was_changed_meanwhile_is_held_back(api: b.APIClient, opening: Opening) -> None:
    address = f"/api/v1/alerts/{b.alert(opening).pk}"
    read = api.get(address).headers["ETag"]
    b.client(b.inspector(opening.site)).post(f"{address}/acknowledge")
    held = api.post(f"{address}/close", {"why": "seen"}, HTTP_IF_MATCH=read)
    check_problem(held, 412, "changed-since-read")
    assert api.get(address).json()["closed_at"] is None
    now = api.get(address).headers["ETag"]
    assert api.post(f"{address}/close", {"why": "seen"}, HTTP_IF_MATCH=f"W/{now}").status_code == 200
