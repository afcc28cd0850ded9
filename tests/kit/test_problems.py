"""Whatever goes wrong is answered as RFC 9457 problem details."""

import logging
from typing import Any

import pytest
from django.db import DatabaseError

from openings.api.sites import SiteViewSet
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def api() -> b.APIClient:
    return b.client(b.supervisor(b.site()))


@pytest.mark.parametrize("path", ["/api/v1/nowhere", "/api/v1/openings/", "/api/v1/sites/x/y", "/api/v1/../v1/zz"])
def test_an_address_that_is_none_says_so(api: b.APIClient, path: str) -> None:
    check_problem(api.get(path), 404, "not-found")


def test_a_program_that_posts_to_an_address_that_is_none_is_told_so_too() -> None:
    program = b.APIClient(enforce_csrf_checks=True)
    check_problem(program.post("/api/v1/alerts/a.b/close"), 404, "not-found")


@pytest.mark.parametrize("key", ["no-uuid", "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11", "1", "%00"])
def test_an_object_that_is_none_says_so(api: b.APIClient, key: str) -> None:
    check_problem(api.get(f"/api/v1/openings/{key}"), 404, "not-found")


def test_a_method_that_is_not_taken_names_those_that_are(api: b.APIClient) -> None:
    response = api.delete("/api/v1/sites")
    check_problem(response, 405, "method-not-allowed")
    assert "GET" in response.headers["Allow"]


def test_a_form_of_answer_that_is_not_there(api: b.APIClient) -> None:
    check_problem(api.get("/api/v1/sites", HTTP_ACCEPT="text/csv"), 406, "not-acceptable")


def test_a_stranger_is_told_to_sign_in_and_how() -> None:
    response = b.client().get("/api/v1/sites")
    check_problem(response, 401, "not-authenticated")
    assert response.headers["WWW-Authenticate"] == "Bearer"


def test_a_token_that_is_not_good_is_told_what_to_do() -> None:
    refused = check_problem(b.client(token="st_wrong").get("/api/v1/sites"), 401, "authentication-failed")
    assert "Enrol" in refused["detail"]


def test_a_page_without_its_csrf_token_changes_nothing() -> None:
    alert = b.alert(b.opening(b.site()))
    api = b.APIClient(enforce_csrf_checks=True)
    api.force_login(b.supervisor(alert.site))
    check_problem(api.post(f"/api/v1/alerts/{alert.pk}/acknowledge"), 403)
    alert.refresh_from_db()
    assert alert.acknowledged_at is None


def test_each_bad_field_is_named_with_what_was_expected(api: b.APIClient) -> None:
    refused = check_problem(api.get("/api/v1/openings?width=wide&held=maybe&site=here"), 422, "bad-input")
    assert {e["field"] for e in refused["errors"]} == {"width", "held", "site"}


def test_a_fault_of_ours_is_noted_and_keeps_its_insides(
    api: b.APIClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*args: Any) -> None:
        raise DatabaseError("password of the data base")

    monkeypatch.setattr(SiteViewSet, "get_queryset", broken)
    api.raise_request_exception = False
    with caplog.at_level(logging.ERROR):
        response = api.get("/api/v1/sites")
    check_problem(response, 500, "fault")
    assert b"password" not in response.content
    assert any("/api/v1/sites" in record.getMessage() for record in caplog.records)
