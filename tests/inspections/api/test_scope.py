"""Who sees what: every list and every single object of the API, asked by every kind of person.

The table is walked against the router, so that a new resource is in it or fails here.
"""

import pytest

from openings.models import Opening
from sitetrack.access.models import Membership
from sitetrack.access.roles import Role
from sitetrack.api_urls import RESOURCES, router
from tests import builders as b
from tests.inspections.api.world import World, make_world
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db

ON_SITE = {"supervisor", "inspector", "viewer", "own crew", "other crew"}
NOT_ANOTHER_CREW = ON_SITE - {"other crew"}
SEEN_BY = {
    "sites": ON_SITE,
    "buildings": ON_SITE,
    "floors": ON_SITE,
    "openings": ON_SITE,
    "stages": ON_SITE,
    "check-ins": NOT_ANOTHER_CREW,
    "frame-checks": NOT_ANOTHER_CREW,
    "profiles": ON_SITE,
    "sign-offs": ON_SITE,
    "holds": ON_SITE,
    "alerts": ON_SITE,
    "mutes": ON_SITE,
    "kept-aside": NOT_ANOTHER_CREW,
    "photos": NOT_ANOTHER_CREW,
    "reports": {"supervisor", "inspector", "viewer"},
    "forecasts": {"supervisor", "inspector", "viewer"},
    "devices": {"supervisor", "own crew"},
    "webhooks": {"supervisor"},
    "webhook-messages": {"supervisor"},
}
WITHOUT_SINGLE_OBJECTS = {"stages", "photos"}
PEOPLE = sorted(ON_SITE | {"stranger", "anonymous"})


@pytest.fixture
def world() -> World:
    return make_world()


def test_the_table_has_every_resource_of_the_router() -> None:
    assert set(SEEN_BY) == {prefix for prefix, _, _ in router.registry} == set(RESOURCES)


@pytest.mark.parametrize("who", PEOPLE)
def test_lists_show_what_each_may_see_and_nothing_else(world: World, who: str) -> None:
    person = world.people[who]
    api = b.client(person)
    for resource, seen_by in SEEN_BY.items():
        response = api.get(f"/api/v1/{resource}")
        if person is None:
            check_problem(response, 401)
            continue
        assert response.status_code == 200, resource
        rows = response.json()["results"]
        if resource in WITHOUT_SINGLE_OBJECTS:
            assert len([r for r in rows if r["site"] == str(world.site.pk)]) == (
                len(world.keys[resource]) if who in seen_by else 0
            )
            continue
        assert world.keys[resource], resource
        shown = {row["id"] for row in rows} & world.keys[resource]
        assert shown == (world.keys[resource] if who in seen_by else set()), (resource, who)


@pytest.mark.parametrize("who", PEOPLE)
def test_single_objects_are_not_told_apart_from_none_where_not_seen(world: World, who: str) -> None:
    person = world.people[who]
    api = b.client(person)
    for resource, seen_by in SEEN_BY.items():
        if resource in WITHOUT_SINGLE_OBJECTS:
            continue
        for key in world.keys[resource]:
            response = api.get(f"/api/v1/{resource}/{key}")
            if person is None:
                check_problem(response, 401)
            elif who in seen_by:
                assert response.status_code == 200, (resource, who)
                assert response.json()["id"] == key
            else:
                check_problem(response, 404, "not-found")


@pytest.mark.parametrize("who", sorted(set(PEOPLE) - {"supervisor", "inspector"}))
def test_only_supervisor_and_inspector_answer_alerts(world: World, who: str) -> None:
    api = b.client(world.people[who])
    (key,) = world.keys["alerts"]
    refused = {"stranger": 404, "anonymous": 401}.get(who, 403)
    check_problem(api.post(f"/api/v1/alerts/{key}/acknowledge"), refused)
    check_problem(api.post(f"/api/v1/alerts/{key}/close", {"why": "seen"}), refused)
    check_problem(api.post(f"/api/v1/alerts/{key}/reopen"), refused)
    muting = {
        "site": str(world.site.pk), "rule": "order-uncertain", "opening": str(world.opening.pk),
        "until": b.rfc3339(b.read_clock() + b.DAY), "reason": "known",
    }  # fmt: skip
    check_problem(api.post("/api/v1/mutes", muting), refused)
    (mute,) = world.keys["mutes"]
    check_problem(api.post(f"/api/v1/mutes/{mute}/lift"), refused)


@pytest.mark.parametrize("who", sorted(set(PEOPLE) - {"supervisor"}))
def test_only_a_supervisor_settles_what_is_told_outside(world: World, who: str) -> None:
    api = b.client(world.people[who])
    wish = {"site": str(world.site.pk), "url": "https://hooks.example/", "events": ["alert.raised"]}
    check_problem(api.post("/api/v1/webhooks", wish), {"stranger": 404, "anonymous": 401}.get(who, 403))
    (hook,), (message,) = world.keys["webhooks"], world.keys["webhook-messages"]
    actions = [f"webhooks/{hook}/{act}" for act in ("rotate", "stop", "test")]
    for address in [*actions, f"webhook-messages/{message}/again"]:
        check_problem(api.post(f"/api/v1/{address}"), 401 if who == "anonymous" else 404)


def test_a_phone_sets_up_no_webhook_even_in_its_supervisors_hand(world: World) -> None:
    chief = world.people["supervisor"]
    assert chief is not None
    _, token = b.device(world.site, chief)
    (hook,) = world.keys["webhooks"]
    wish = {"site": str(world.site.pk), "url": "https://hooks.example/", "events": ["alert.raised"]}
    check_problem(b.client(token=token).post("/api/v1/webhooks", wish), 403)
    check_problem(b.client(token=token).post(f"/api/v1/webhooks/{hook}/rotate"), 403)
    _, token = b.device(world.site, chief, kind="program")
    assert b.client(token=token).post("/api/v1/webhooks", wish).status_code == 201


@pytest.mark.parametrize("who", sorted(set(PEOPLE) - {"supervisor"}))
def test_only_a_supervisor_lets_devices_in_and_stops_them(world: World, who: str) -> None:
    api = b.client(world.people[who])
    body = {"site": str(world.site.pk), "person": str(world.people["viewer"].pk)}  # type: ignore[union-attr]
    check_problem(api.post("/api/v1/devices/codes", body), 401 if who == "anonymous" else 403)
    refused = {"anonymous": 401, "own crew": 403}.get(who, 404)
    check_problem(api.post(f"/api/v1/devices/{world.phone.pk}/revoke"), refused)
    world.phone.refresh_from_db()
    assert world.phone.revoked_at is None


@pytest.mark.parametrize("who", sorted(set(PEOPLE) - {"supervisor"}))
def test_only_a_supervisor_corrects_the_schedule(world: World, who: str) -> None:
    address = f"/api/v1/openings/{world.opening.pk}"
    refused = {"stranger": 404, "anonymous": 401}.get(who, 403)
    check_problem(b.client(world.people[who]).patch(address, {"hand": "LH"}, HTTP_IF_MATCH="*"), refused)
    world.opening.refresh_from_db()
    assert world.opening.hand == "RH"


def test_a_phone_opens_its_own_site_only(world: World) -> None:
    hand = world.people["own crew"]
    assert hand is not None
    other = b.site()
    Membership.objects.create(site=other, person=hand, company=b.company(), role=Role.SUPERVISOR)
    there = b.opening(other)
    _, token = b.device(world.site, hand)
    phone, page = b.client(token=token), b.client(hand)
    assert {row["site"] for row in phone.get("/api/v1/openings").json()["results"]} == {str(world.site.pk)}
    assert len(phone.get("/api/v1/sites").json()["results"]) == 1
    check_problem(phone.get(f"/api/v1/openings/{there.pk}"), 404)
    assert page.get(f"/api/v1/openings/{there.pk}").status_code == 200


def test_a_role_that_ended_opens_nothing(world: World) -> None:
    viewer = world.people["viewer"]
    Membership.objects.filter(person=viewer).update(ended_at=b.MONDAY)
    assert b.client(viewer).get("/api/v1/openings").json()["results"] == []


def test_a_filter_by_a_foreign_site_shows_nothing_of_it(world: World) -> None:
    foreign = Opening.objects.exclude(site=world.site).get()
    api = b.client(world.people["supervisor"])
    assert api.get(f"/api/v1/openings?site={foreign.site_id}").json()["results"] == []
