"""How refusals appear in the OpenAPI document: every operation may answer with problem details."""

from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import ComponentRegistry, ResolvedComponent

from sitetrack.kit.problems import PROBLEM_JSON

TEXT = {"type": "string"}
FIELD_ERROR = {
    "type": "object",
    "required": ["field", "detail"],
    "properties": {"field": TEXT, "detail": TEXT, "read": TEXT, "expected": TEXT, "example": TEXT},
}
PROBLEM = {
    "type": "object",
    "description": "What went wrong, as RFC 9457 problem details. `type` is stable and may be relied on.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": TEXT,
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": TEXT,
        "errors": {"type": "array", "items": FIELD_ERROR, "description": "One for each field that can't be taken."},
    },
    "example": {
        "type": "/problems/bad-input",
        "title": "Something given can't be taken",
        "status": 422,
        "detail": "page_size: 'all' can't be used here; expected a whole number from 1 to 500.",
        "errors": [{"field": "page_size", "detail": "can't be used here", "read": "all",
                    "expected": "a whole number from 1 to 500"}],
    },
}  # fmt: skip
WORDS = {
    "400": "The request can't be read",
    "401": "Not signed in, or a token that is not good any more",
    "403": "Not yours to do",
    "404": "Nothing by that name that you may see",
    "412": "Changed since it was read",
    "413": "Too large",
    "415": "Not JSON",
    "422": "Something given can't be taken; `errors` names the fields",
    "428": "If-Match is missing",
    "429": "Too many requests; Retry-After says when to try again",
    "default": "Any other refusal",
}


def problem_component(registry: ComponentRegistry) -> ResolvedComponent:
    """The one description of problem details, in the document once."""
    component = ResolvedComponent("Problem", ResolvedComponent.SCHEMA, schema=PROBLEM, object=PROBLEM_JSON)
    registry.register_on_missing(component)
    return component


class ProblemSchema(AutoSchema):
    """Describes an operation together with what it may refuse."""

    def get_operation(
        self, path: str, path_regex: str, path_prefix: str, method: str, registry: ComponentRegistry
    ) -> dict[str, Any] | None:
        operation = super().get_operation(path, path_regex, path_prefix, method, registry)
        if operation is None:
            return None
        responses = operation["responses"]
        content = {PROBLEM_JSON: {"schema": problem_component(registry).ref}}
        for status in self._refusals(operation):
            responses.setdefault(status, {"description": WORDS[status], "content": content})
        if getattr(self.view, "action", "") == "retrieve":
            responses["304"] = {"description": "Not changed since the ETag given in If-None-Match"}
            operation.setdefault("parameters", []).append(_header("If-None-Match", "ETag read before"))
        if method.upper() == "PATCH":
            operation.setdefault("parameters", []).append(_header("If-Match", "ETag of what was read"))
        return operation

    def _refusals(self, operation: dict[str, Any]) -> list[str]:
        statuses = ["422", "default"]
        if operation.get("security") != [{}]:
            statuses += ["401", "403"]
        if "{" in self.path:
            statuses.append("404")
        if "requestBody" in operation:
            statuses += ["400", "413", "415"]
        if self.view.get_throttles():
            statuses.append("429")
        if self.method == "PATCH":
            statuses += ["412", "428"]
        return sorted(statuses)


def _header(name: str, description: str) -> dict[str, Any]:
    return {"name": name, "in": "header", "schema": {"type": "string"}, "description": description}
