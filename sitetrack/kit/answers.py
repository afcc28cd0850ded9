"""Refusals turned into RFC 9457 problem details, once, at the edge."""

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

from sitetrack.kit.problems import (
    PROBLEM_JSON,
    BadInput,
    FieldError,
    Forbidden,
    NotFound,
    Problem,
    problem_details,
)


def answer_problem(exc: Exception, context: dict[str, Any]) -> Response | None:
    """Turn any refusal into problem details, once, at the edge (DRF's exception handler)."""
    if isinstance(exc, Problem):
        return Response(exc.as_dict(), status=exc.status, content_type=PROBLEM_JSON)
    response = exception_handler(exc, context)
    if response is None:
        return None
    if isinstance(exc, exceptions.ValidationError):
        errors = list(_flatten(exc.detail))
        detail = errors[0].detail if errors else "The request does not have the expected form."
        body = BadInput(detail, errors=errors).as_dict()
        response.status_code = BadInput.status
    elif isinstance(exc, Http404 | PermissionDenied | exceptions.APIException):
        code = getattr(exc, "default_code", "not-found" if isinstance(exc, Http404) else "forbidden")
        detail = str(getattr(exc, "detail", "") or "Nothing here by that name that you may see.")
        body = problem_details(str(code).replace("_", "-"), _title(response.status_code), response.status_code, detail)
    response.data = body
    response.content_type = PROBLEM_JSON
    return response


def _title(status: int) -> str:
    return {
        401: "Sign in first",
        403: Forbidden.title,
        404: NotFound.title,
        405: "This address does not take that method",
        406: "No such form of answer",
        415: "No such form of request",
        429: "Too many requests",
    }.get(status, Problem.title)


def _flatten(detail: Any, path: str = "") -> Iterable[FieldError]:
    if isinstance(detail, dict):
        for key, value in detail.items():
            here = path if key == "non_field_errors" else f"{path}.{key}" if path else str(key)
            yield from _flatten(value, here)
    elif isinstance(detail, list):
        for index, value in enumerate(detail):
            nested = isinstance(value, dict | list)
            yield from _flatten(value, f"{path}[{index}]" if nested else path)
    else:
        yield FieldError(field=path or "body", detail=str(detail))


def plain_problem(request: HttpRequest, status: int, code: str, detail: str) -> JsonResponse:
    """Problem details outside DRF, for addresses under /api/ that no view answers."""
    return JsonResponse(problem_details(code, _title(status), status, detail), status=status, content_type=PROBLEM_JSON)
