"""Buildings and floors: added, renamed, ordered, dated and removed when empty; phones are told what is gone."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.sync.site_records import site_records
from openings.models import Building, Floor, Site
from sitetrack.access.models.changes import Kind, RecordedChange
from sitetrack.access.roles import Role
from tests import builders as make
from tests.desk.looking import press_undo, signed_in

pytestmark = pytest.mark.django_db


def base(job: Site) -> str:
    return f"/s/{job.code}/places"


def floor_fields(key: Any, **typed: str) -> dict[str, str]:
    given = {"code": "L3", "name": "Third", "level": "3", "due_on": "2026-05-01"} | typed
    return {f"floor-{key}-{name}": value for name, value in given.items()}


def test_a_building_and_its_floors_from_nothing(job: Site, desk: Client) -> None:
    desk.post(f"{base(job)}/new", {"building-code": "N", "building-name": "North"})
    house = Building.objects.get(site=job)
    desk.post(f"{base(job)}/{house.pk}/floors/new", floor_fields(house.pk))
    floor = Floor.objects.get(building=house)
    assert (floor.code, floor.name, floor.level, str(floor.due_on)) == ("L3", "Third", 3, "2026-05-01")
    changed = floor_fields(floor.pk, level="2", name="Second", due_on="")
    assert desk.post(f"{base(job)}/{house.pk}/floors/{floor.pk}", changed).status_code == 302
    floor.refresh_from_db()
    assert (floor.name, floor.level, floor.due_on) == ("Second", 2, None)
    acts = RecordedChange.objects.filter(site=job, kind=Kind.PLACE).order_by("id").values_list("act", flat=True)
    assert list(acts) == ["added", "added", "changed"]


def test_an_empty_floor_is_removed_and_phones_are_told(job: Site, desk: Client) -> None:
    floor = make.floor(job, "L9")
    standing = job.memberships.select_related("site", "company", "person").get()
    assert {"type": "floor", "id": str(floor.pk), "data": None} not in site_records(standing).records
    before = site_records(standing).digest
    assert desk.post(f"{base(job)}/floor/{floor.pk}/remove").status_code == 302
    assert not Floor.objects.filter(pk=floor.pk).exists()
    records = site_records(standing)
    assert {"type": "floor", "id": str(floor.pk), "data": None} in records.records
    assert records.digest != before
    assert desk.post(f"{base(job)}/building/{floor.building_id}/remove").status_code == 302
    assert not Building.objects.filter(site=job).exists()


def test_what_is_not_empty_stays(job: Site, desk: Client) -> None:
    floor = make.opening(job).floor
    for kind, key in (("floor", floor.pk), ("building", floor.building_id)):
        desk.post(f"{base(job)}/{kind}/{key}/remove")
    assert Floor.objects.filter(pk=floor.pk).exists()
    assert Building.objects.filter(pk=floor.building_id).exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"code": ""}, "code"), ({"code": "L1"}, "code"), ({"level": "up"}, "level"), ({"due_on": "soon"}, "due_on")],
)
def test_a_refused_field_says_why_beside_it(job: Site, desk: Client, typed: dict[str, str], field: str) -> None:
    floor = make.floor(job, "L1")
    key = floor.building_id
    answer = desk.post(f"{base(job)}/{key}/floors/new", floor_fields(key, **typed))
    assert answer.status_code == 422
    assert f'id="id_floor-{key}-{field}_error"' in answer.content.decode()
    assert 'value="Third"' in answer.content.decode()
    assert Floor.objects.count() == 1


@pytest.mark.parametrize("role", sorted(set(Role.values) - {Role.SUPERVISOR}))
def test_others_read_and_change_nothing(job: Site, role: str) -> None:
    floor = make.floor(job, "L1")
    client = signed_in(make.member(job, role))
    assert "<form" not in client.get(base(job)).content.decode().split("<main")[1].split("</main>")[0]
    client.post(f"{base(job)}/new", {"building-code": "N"})
    client.post(f"{base(job)}/{floor.building_id}/floors/{floor.pk}", floor_fields(floor.pk))
    client.post(f"{base(job)}/floor/{floor.pk}/remove")
    assert (Building.objects.count(), Floor.objects.get().code) == (1, "L1")


def test_another_sites_floors_are_not_there(job: Site, desk: Client) -> None:
    floor = make.floor(make.site("depot"), "L1")
    for address in (
        f"{base(job)}/floor/{floor.pk}/remove",
        f"{base(job)}/building/{floor.building_id}/remove",
        f"{base(job)}/{floor.building_id}",
        f"{base(job)}/{floor.building_id}/floors/{floor.pk}",
        f"/s/depot/places/floor/{floor.pk}/remove",
    ):
        assert desk.post(address, floor_fields(floor.pk)).status_code == 404, address
    assert Floor.objects.get().code == "L1"


def test_as_many_questions_for_many_floors_as_for_few(job: Site, desk: Client) -> None:
    desk.get(base(job))  # the first page of a session also notes who looks
    counts = []
    for floors in (3, 30):
        for number in range(floors):
            make.floor(job, f"L{floors}-{number}")
        with CaptureQueriesContext(connection) as asked:
            assert desk.get(base(job)).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_what_was_changed_added_or_removed_here_is_undone(job: Site, desk: Client) -> None:
    floor = make.floor(job, "L9", level=9, name="Ninth")
    address = f"{base(job)}/{floor.building_id}/floors/{floor.pk}"
    press_undo(desk, desk.post(address, floor_fields(floor.pk)))
    floor.refresh_from_db()
    assert (floor.code, floor.level, floor.name, floor.due_on) == ("L9", 9, "Ninth", None)

    press_undo(desk, desk.post(f"{base(job)}/{floor.building_id}/floors/new", floor_fields(floor.building_id)))
    assert list(Floor.objects.filter(site=job).values_list("code", flat=True)) == ["L9"]

    press_undo(desk, desk.post(f"{base(job)}/floor/{floor.pk}/remove"))
    assert list(Floor.objects.filter(site=job).values_list("code", "level", "name")) == [("L9", 9, "Ninth")]

    press_undo(desk, desk.post(f"{base(job)}/new", {"building-code": "N", "building-name": "North"}))
    assert not Building.objects.filter(site=job, code="N").exists()
