"""Refusals turned into RFC 9457 problem details, once, at the edge."""

import json
import logging
from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError as ModelValidationError
from django.core.signals import got_request_exception
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from sitetrack.kit.backoff import Spread, chance
from sitetrack.kit.problems import (
    PROBLEM_JSON,
    Away,
    BadInput,
    FieldError,
    Forbidden,
    NotFound,
    Problem,
    TooLarge,
    problem_details,
)

log = logging.getLogger(__name__)

# What the data base's library raises when it was cut off, is starting, has no room, or let two wait for each other.
# None of it is the fault of what was sent: sent again, it may well be taken.
DATABASE_AWAY = (OperationalError, InterfaceError)
LEAST_WAIT_S, MOST_WAIT_S = 3, 10

UNSEEN = "Nothing here by that name that you may see."
TITLES = {
    400: "The request can't be read",
    401: "Sign in first",
    403: Forbidden.title,
    404: NotFound.title,
    405: "This address does not take that method",
    406: "No such form of answer",
    413: TooLarge.title,
    415: "No such form of request",
    429: "Too many requests",
    500: "Something broke here",
}


def answer_problem(exc: Exception, context: dict[str, Any]) -> Response:
    """Turn whatever went wrong into problem details (DRF's exception handler)."""
    if isinstance(exc, Problem):
        return _answer(exc.as_dict())
    if isinstance(exc, ModelValidationError):
        exc = exceptions.ValidationError(exc.message_dict if hasattr(exc, "error_dict") else exc.messages)
    if isinstance(exc, DATABASE_AWAY):
        return _answer_away(exc, context)
    response = exception_handler(exc, context)
    if response is None:
        return _answer_unexpected(exc, context)
    if isinstance(exc, exceptions.ValidationError):
        errors = list(_flatten(exc.detail))
        detail = "; ".join(f"{e.field}: {e.detail}" for e in errors[:3]) or "The request has not the expected form."
        return _answer(BadInput(detail, errors=errors).as_dict())
    code, detail = "not-found", UNSEEN
    if isinstance(exc, exceptions.APIException):
        code, detail = str(exc.default_code), str(exc.detail)
    elif response.status_code != 404:
        code, detail = "forbidden", "This is not yours to do."
    body = problem_details(code.replace("_", "-"), _title(response.status_code), response.status_code, detail)
    return _answer(body, dict(response.headers))


def plain_problem(request: HttpRequest, status: int, code: str, detail: str) -> JsonResponse:
    """Problem details outside DRF, for addresses under /api/ that no view answers."""
    return JsonResponse(problem_details(code, _title(status), status, detail), status=status, content_type=PROBLEM_JSON)


def _answer(body: dict[str, Any], headers: dict[str, str] | None = None) -> Response:
    kept = {name: value for name, value in (headers or {}).items() if name.lower() != "content-type"}
    # What was read is shown in the answer, and may be text that no answer can carry, such as half a surrogate pair.
    sendable = json.loads(json.dumps(body, ensure_ascii=False, default=str).encode("utf-8", "replace"))
    return Response(sendable, status=body["status"], headers=kept, content_type=PROBLEM_JSON)


def _answer_unexpected(exc: Exception, context: dict[str, Any]) -> Response:
    """A fault of ours: logged and told to whoever listens for faults, without its insides to the caller."""
    request = context.get("request")
    log.error("unexpected fault at %s", getattr(request, "path", "?"), exc_info=exc)
    set_rollback()
    got_request_exception.send(sender=None, request=getattr(request, "_request", request))
    return _answer(problem_details("fault", _title(500), 500, "It was noted. Try again, and tell us if it stays."))


def _answer_away(exc: Exception, context: dict[str, Any]) -> Response:
    """Asked to come back, and when: a 500 would have phones look for what is wrong with what they sent."""
    log.error("data base away at %s: %s", getattr(context.get("request"), "path", "?"), type(exc).__name__)
    set_rollback()
    return _answer(Away().as_dict(), {"Retry-After": wait_while_away()})


def wait_while_away(spread: Spread = chance) -> str:
    """Whole seconds for Retry-After, with chance in them, so that what was turned away together comes back apart."""
    return str(round(LEAST_WAIT_S + spread() * (MOST_WAIT_S - LEAST_WAIT_S)))


def _title(status: int) -> str:
    return TITLES.get(status, Problem.title)


def _flatten(detail: Any, path: str = "") -> Iterable[FieldError]:
    if isinstance(detail, dict):
        for key, value in detail.items():
            here = path if key in {"non_field_errors", "__all__"} else f"{path}.{key}" if path else str(key)
            yield from _flatten(value, here)
    elif isinstance(detail, list):
        for index, value in enumerate(detail):
            nested = isinstance(value, dict | list)
            yield from _flatten(value, f"{path}[{index}]" if nested else path)
    else:
        yield FieldError(field=path or "body", detail=str(detail))
