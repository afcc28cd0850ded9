"""Pages: bounded, complete, stable while rows are added, never broken by what is asked of them."""

import base64
import json
from typing import Any

import pytest

from openings.models import Opening, Site
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/openings"


@pytest.fixture
def clinic() -> Site:
    return b.site()


@pytest.fixture
def api(clinic: Site) -> b.APIClient:
    return b.client(b.supervisor(clinic))


def walk(api: b.APIClient, address: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for _ in range(200):
        page = api.get(address).json()
        rows += page["results"]
        if page["next"] is None:
            return rows
        address = page["next"]
    pytest.fail("the pages have no end")


@pytest.mark.parametrize("ordering", ["id", "-id", "number", "-number", "changed_at", "-changed_at", "walk", "seq"])
def test_every_row_comes_once_though_all_share_one_value(api: b.APIClient, clinic: Site, ordering: str) -> None:
    """A schedule taken in gives every opening the same time of change; so here."""
    made = {str(o.pk) for o in b.openings(clinic, 11)}
    rows = walk(api, f"{ADDRESS}?page_size=2&ordering={ordering}")
    assert len(rows) == 11
    assert {row["id"] for row in rows} == made
    if ordering.lstrip("-") == "number":
        numbers = [row["number"] for row in rows]
        assert numbers == sorted(numbers, reverse=ordering.startswith("-"))


def test_rows_added_meanwhile_shift_nothing(api: b.APIClient, clinic: Site) -> None:
    for number in ("B", "D", "F", "H"):
        b.opening(clinic, number)
    first = api.get(f"{ADDRESS}?page_size=2&ordering=number").json()
    b.opening(clinic, "A")
    b.opening(clinic, "E")
    rest = walk(api, first["next"])
    assert [r["number"] for r in first["results"] + rest] == ["B", "D", "E", "F", "H"]


def test_no_page_is_larger_than_the_bound(api: b.APIClient, clinic: Site) -> None:
    floor, plan = b.floor(clinic), clinic.plans.get(code="steel_stud")
    Opening.objects.bulk_create(
        Opening(site=clinic, floor=floor, plan=plan, number=f"N{n}", changed_at=b.MONDAY, seq=n) for n in range(501)
    )
    assert len(api.get(f"{ADDRESS}?page_size=100000").json()["results"]) == 500
    assert len(api.get(ADDRESS).json()["results"]) == 100


@pytest.mark.parametrize("size", ["0", "-1", "all", "1.5", "", "9" * 40, "²"])
def test_a_page_size_that_is_none_is_refused(api: b.APIClient, size: str) -> None:
    refused = check_problem(api.get(ADDRESS, {"page_size": size}), 422, "bad-input")
    assert refused["errors"][0]["field"] == "page_size"


@pytest.mark.parametrize("ordering", ["width", "site__change_counter", "--id", "id,number", "person__password"])
def test_only_listed_fields_order(api: b.APIClient, ordering: str) -> None:
    check_problem(api.get(ADDRESS, {"ordering": ordering}), 422, "bad-input")


def cursor(*position: Any) -> str:
    return base64.urlsafe_b64encode(json.dumps(position).encode()).decode()


@pytest.mark.parametrize(
    "given",
    [
        "garbage",
        "%%%",
        "ab\x00",
        cursor(),
        cursor("id", "x", "y"),
        cursor("number", "1", "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11"),
        cursor("id", None, None),
        cursor("id", ["1"], "1"),
        "A" * 5000,
        base64.urlsafe_b64encode(b"[" * 300).decode(),
    ],
)
def test_a_cursor_not_from_here_is_refused(api: b.APIClient, given: str) -> None:
    check_problem(api.get(ADDRESS, {"cursor": given}), 422, "bad-input")


def test_a_filter_misspelt_is_refused_and_not_passed_over(api: b.APIClient) -> None:
    refused = check_problem(api.get(ADDRESS, {"flor": "1"}), 422, "bad-input")
    assert "floor" in refused["detail"]
