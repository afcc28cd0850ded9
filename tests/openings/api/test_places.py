"""Sites, buildings and floors over the API."""

import datetime

import pytest

from sitetrack.kit.lengths import parse_length
from tests import builders as b

pytestmark = pytest.mark.django_db


def test_a_site_tells_its_clock_and_units() -> None:
    site = b.site("clinic", time_zone="America/Denver", units="metric")
    api = b.client(b.supervisor(site))
    (row,) = api.get("/api/v1/sites?code=CLINIC").json()["results"]
    assert row["id"] == str(site.pk)
    assert (row["code"], row["time_zone"], row["units"]) == ("clinic", "America/Denver", "metric")


def test_floors_of_a_building_in_walking_order() -> None:
    site = b.site()
    for code, level in (("L3", 3), ("B1", -1), ("L1", 1)):
        b.floor(site, code, level=level)
    b.floor(site, "X1", in_building="other")
    api = b.client(b.supervisor(site))
    rows = api.get(f"/api/v1/floors?building={b.building(site).pk}&ordering=level").json()["results"]
    assert [row["code"] for row in rows] == ["B1", "L1", "L3"]


def test_a_floor_tells_its_elevation_and_its_date() -> None:
    site = b.site()
    b.floor(site, "L2", elevation=parse_length("13'-4\""), due_on=datetime.date(2026, 3, 20))
    api = b.client(b.supervisor(site))
    (row,) = api.get("/api/v1/floors?due_before=2026-03-21").json()["results"]
    assert row["elevation"] == {"text": '160"', "in": 160.0, "mm": 4064.0}
    assert row["due_on"] == "2026-03-20"
    assert api.get("/api/v1/floors?due_before=2026-03-20").json()["results"] == []
