"""The OpenAPI document: valid, without warnings, complete, and true to what is answered."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command
from openapi_spec_validator import OpenAPIV31SpecValidator

from sitetrack.api_urls import RESOURCES
from tests import builders as b
from tests.inspections.api.world import make_world

OPERATIONS = {"get", "post", "put", "patch", "delete"}


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    response = b.client().get("/api/v1/schema")
    assert response.status_code == 200
    found: dict[str, Any] = response.json()
    return found


def operations(document: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (path, method, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
        if method in OPERATIONS
    ]


def test_the_document_is_made_without_a_warning(tmp_path: Path) -> None:
    call_command("spectacular", "--fail-on-warn", "--validate", "--file", str(tmp_path / "schema.yaml"))


def test_the_document_is_openapi_3_1(document: dict[str, Any]) -> None:
    """Checked by a general validator that knows nothing of what wrote it."""
    assert document["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(document).validate()


def test_every_operation_has_its_own_name_words_and_refusals(document: dict[str, Any]) -> None:
    found = operations(document)
    names = [operation["operationId"] for _, _, operation in found]
    assert len(names) == len(set(names))
    for path, method, operation in found:
        assert operation.get("summary"), (method, path)
        refusals = [code for code in operation["responses"] if code == "default" or code[0] in "45"]
        assert {"422", "default"} <= set(refusals), (method, path)
        for code in refusals:
            content = operation["responses"][code]["content"]
            assert content == {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}


def test_every_address_of_the_contract_is_described(document: dict[str, Any]) -> None:
    paths = set(document["paths"])
    assert {f"/api/v1/{name}" for name in RESOURCES} <= paths
    assert {
        "/api/v1/sync/push",
        "/api/v1/devices/enrol",
        "/api/v1/devices/codes",
        "/api/v1/devices/{id}/revoke",
        "/api/v1/alerts/{id}/acknowledge",
        "/api/v1/alerts/{id}/close",
        "/api/v1/me",
    } <= paths
    calculations = ("wall", "anchors", "hinges", "floor", "frame-check", "door-fit", "advice")
    assert {f"/api/v1/calculations/{name}" for name in calculations} <= paths


def test_a_push_is_described_with_an_example(document: dict[str, Any]) -> None:
    push = document["paths"]["/api/v1/sync/push"]["post"]
    body = push["requestBody"]["content"]["application/json"]
    example = next(iter(body["examples"].values()))["value"]
    validate(document, example, body["schema"])
    assert push["responses"]["200"]["content"]["application/json"]["examples"]


def validate(document: dict[str, Any], value: Any, schema: dict[str, Any]) -> None:
    whole = {**schema, "components": document["components"]}
    checker = jsonschema.Draft202012Validator.FORMAT_CHECKER
    jsonschema.Draft202012Validator(whole, format_checker=checker).validate(value)


@pytest.mark.django_db
def test_what_is_answered_is_what_is_described(document: dict[str, Any]) -> None:
    world = make_world()
    api = b.client(world.people["supervisor"])
    for resource in RESOURCES:
        described = document["paths"][f"/api/v1/{resource}"]["get"]["responses"]["200"]
        answer = api.get(f"/api/v1/{resource}").json()
        assert answer["results"], resource
        validate(document, answer, described["content"]["application/json"]["schema"])
    described = document["paths"]["/api/v1/me"]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    validate(document, api.get("/api/v1/me").json(), described)


@pytest.mark.django_db
def test_what_a_push_answers_is_what_is_described(document: dict[str, Any]) -> None:
    opening = b.opening(b.site())
    api = b.client(b.crew(opening.site))
    items = [b.push_item(opening), b.push_item(opening, "polish"), b.push_item(opening, "board"), 7,
             b.push_item(opening, "trueness", readings=b.TWISTED_READINGS)]  # fmt: skip
    push = document["paths"]["/api/v1/sync/push"]["post"]
    validate(document, b.batch(*items[:3]), push["requestBody"]["content"]["application/json"]["schema"])
    described = push["responses"]["200"]["content"]["application/json"]["schema"]
    validate(document, api.post("/api/v1/sync/push", b.batch(*items)).json(), described)


def test_the_rendered_pages_come_from_this_server_alone() -> None:
    page = b.client().get("/api/v1/docs")
    assert page.status_code == 200
    text = page.content.decode()
    assert "swagger-ui" in text
    assert "https://" not in text
    assert "//cdn" not in text
