"""What goes wrong, in words a user can act on, and its answer as RFC 9457 problem details.

One small hierarchy. A class has a stable `code` (clients may rely on it), a status and a title; an instance adds the
sentence for this occurrence and, for bad input, one `FieldError` a field.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import exception_handler

PROBLEM_JSON = "application/problem+json"
TYPE_PREFIX = "/problems/"


@dataclass(frozen=True, slots=True)
class FieldError:
    """One field that cannot be taken: where, what was read, what was expected, an example that works."""

    field: str
    detail: str
    read: str = ""
    expected: str = ""
    example: str = ""


class Problem(Exception):  # noqa: N818 - it is the trade word of RFC 9457
    """Base of everything this project refuses on purpose."""

    code: ClassVar[str] = "problem"
    status: ClassVar[int] = 400
    title: ClassVar[str] = "This can't be done"

    def __init__(self, detail: str, *, errors: Iterable[FieldError] = (), **more: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.errors = tuple(errors)
        self.more = more

    def as_dict(self) -> dict[str, Any]:
        """The problem details object of RFC 9457."""
        return problem_details(
            self.code, self.title, self.status, self.detail, [asdict(e) for e in self.errors], **self.more
        )


class BadInput(Problem):
    code, status, title = "bad-input", 422, "Something given can't be taken"


class Forbidden(Problem):
    code, status, title = "forbidden", 403, "Not yours to do"


class NotFound(Problem):
    code, status, title = "not-found", 404, "Not found"


class Conflict(Problem):
    code, status, title = "conflict", 409, "Changed meanwhile"


class ContentDiffers(Conflict):
    code, title = "content-differs", "The same id came before with other content"


class Precondition(Problem):
    code, status, title = "changed-since-read", 412, "Changed since you read it"


class TooLarge(Problem):
    code, status, title = "too-large", 413, "Too large"


def problem_details(
    code: str, title: str, status: int, detail: str, errors: list[dict[str, Any]] | None = None, **more: Any
) -> dict[str, Any]:
    """One RFC 9457 object; `errors` is an extension member listing the fields."""
    body: dict[str, Any] = {"type": TYPE_PREFIX + code, "title": title, "status": status, "detail": detail, **more}
    if errors:
        body["errors"] = errors
    return body


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


__all__ = ["BadInput", "Conflict", "ContentDiffers", "FieldError", "Forbidden", "NotFound", "Precondition", "Problem",
           "Request", "TooLarge", "answer_problem", "plain_problem", "problem_details"]
