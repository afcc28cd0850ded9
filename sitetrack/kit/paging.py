"""Cursor pages: every list has a bound and stays stable while rows are added.

A page goes on after the last row of the page before, by (ordering field, key). Rows that share a value of the ordering
field, however many, are neither skipped nor repeated: a schedule taken in gives thousands of openings one time of
change, which a position by value and offset would lose itself in.
"""

import base64
import binascii
import json
from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Model, Q
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from sitetrack.kit.problems import BadInput, FieldError

LONGEST_CURSOR = 500


class CursorPages(BasePagination):
    """Pages of 100, at most 500, walked by an opaque cursor; ordered by one of the view's `ordering_fields`."""

    page_size = 100
    max_page_size = 500

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """One page of rows, and in `next_link` the address of the one after it."""
        size = self._size(request)
        ordering = _ordering(request, view)
        name, descending = ordering.removeprefix("-"), ordering.startswith("-")
        if cursor := request.query_params.get("cursor"):
            queryset = queryset.filter(_after(queryset.model, name, cursor, ordering, descending=descending))
        sign = "-" if descending else ""
        rows = list(queryset.order_by(*dict.fromkeys((f"{sign}{name}", f"{sign}pk")))[: size + 1])
        self.next_link = None
        if len(rows) > size:
            rows.pop()
            self.next_link = replace_query_param(
                request.build_absolute_uri(), "cursor", _cursor(rows[-1], name, ordering)
            )
        return rows

    def get_paginated_response(self, data: Any) -> Response:
        """The page with its way on; `next` is null on the last page."""
        return Response({"next": self.next_link, "results": data})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """The page in the OpenAPI document."""
        link = {"type": ["string", "null"], "format": "uri", "description": "The next page, or null on the last."}
        return {
            "type": "object",
            "required": ["next", "results"],
            "properties": {"next": link, "results": schema | {"maxItems": self.max_page_size}},
        }

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """What may be asked of a page, in the OpenAPI document."""
        names = [sign + name for name in ordering_fields(view) for sign in ("", "-")]
        bounds = {"type": "integer", "minimum": 1, "maximum": self.max_page_size, "default": self.page_size}
        return [
            {"name": "cursor", "in": "query", "schema": {"type": "string"}, "description": "From `next`; opaque."},
            {"name": "page_size", "in": "query", "schema": bounds},
            {"name": "ordering", "in": "query", "schema": {"type": "string", "enum": names}},
        ]

    def _size(self, request: Request) -> int:
        text = request.query_params.get("page_size")
        if text is None:
            return self.page_size
        if not (text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0):
            raise _bad("page_size", text, f"a whole number from 1 to {self.max_page_size}")
        return min(int(text), self.max_page_size)


PARAMETERS = frozenset({"cursor", "page_size", "ordering"})


def ordering_fields(view: Any) -> Sequence[str]:
    """Fields a view's list may be ordered by; the first is the default. None of them may be null."""
    return getattr(view, "ordering_fields", ("id",))


def _ordering(request: Request, view: Any) -> str:
    allowed = ordering_fields(view)
    asked: str = request.query_params.get("ordering") or allowed[0]
    if asked.removeprefix("-") not in allowed:
        raise _bad("ordering", asked, "one of " + ", ".join(allowed) + ", with - in front for the last first")
    return asked


def _cursor(row: Model, name: str, ordering: str) -> str:
    position = [ordering, _field(type(row), name).value_to_string(row), str(row.pk)]
    return base64.urlsafe_b64encode(json.dumps(position).encode()).decode().rstrip("=")


def _after(model: type[Model], name: str, cursor: str, ordering: str, *, descending: bool) -> Q:
    try:
        if len(cursor) > LONGEST_CURSOR:
            raise ValueError
        was, value, key = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        if was != ordering or not isinstance(value, str) or not isinstance(key, str):
            raise ValueError
        position = _field(model, name).to_python(value)
        last = _field(model, "pk").to_python(key)
    except (ValueError, TypeError, binascii.Error, ValidationError, RecursionError, OverflowError):
        raise _bad("cursor", cursor[:40], "a cursor from `next` of this very list, with the same ordering") from None
    side = "lt" if descending else "gt"
    return Q(**{f"{name}__{side}": position}) | Q(**{name: position, f"pk__{side}": last})


def _field(model: type[Model], name: str) -> Any:
    options = model._meta  # noqa: SLF001 - Django's documented way to a model's fields
    return options.pk if name == "pk" else options.get_field(name)


def _bad(field: str, read: str, expected: str) -> BadInput:
    return BadInput(
        f"{field}: {read!r} can't be used here; expected {expected}.",
        errors=[FieldError(field, "can't be used here", read=read, expected=expected)],
    )
