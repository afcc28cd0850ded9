"""The address that hands a phone what changed."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.throttles import SYNC_THROTTLES
from inspections.sync.fields import bad_field, read_key
from inspections.sync.pull import MOST_CHANGES, USUAL_CHANGES, Pull, pull
from sitetrack.access.api.asking import asking, device_of
from sitetrack.kit.api import ApiView
from sitetrack.kit.clock import now
from sitetrack.kit.tally import PULL_RESETS, PULLED

TYPES = ["site", "plan", "profile", "floor", "opening", "hold", "alert"]
PARAMETERS = ("site", "cursor", "limit")


class ChangeAnswer(serializers.Serializer[Any]):
    """One record as it now stands; `data` is null where it is gone."""

    type = serializers.ChoiceField(choices=TYPES)
    id = serializers.UUIDField()
    data = serializers.DictField(allow_null=True)  # type: ignore[assignment]


class PageAnswer(serializers.Serializer[Any]):
    """A page of changes. `reset`: forget what came before, this starts over; `more`: ask again with this cursor."""

    cursor = serializers.CharField()
    more = serializers.BooleanField()
    reset = serializers.BooleanField()
    changes = ChangeAnswer(many=True)


EXAMPLE = {
    "cursor": "opaque",
    "more": False,
    "reset": False,
    "changes": [{"type": "alert", "id": "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11", "data": None}],
}


class PullView(ApiView):
    """What changed on a site since a cursor, as far as the person asking may see it."""

    throttle_classes = SYNC_THROTTLES

    @extend_schema(
        operation_id="sync_pull",
        summary="Pull changes",
        parameters=[
            OpenApiParameter("site", UUID, required=True),
            OpenApiParameter("cursor", str, description="From the page before; left out on a first load. Opaque."),
            OpenApiParameter(
                "limit",
                {"type": "integer", "minimum": 1, "maximum": MOST_CHANGES, "default": USUAL_CHANGES},
                description="The most changes of a page; an opening is never parted from its own holds.",
            ),
        ],
        responses={200: PageAnswer},
        tags=["sync"],
        examples=[OpenApiExample("an alert was closed", EXAMPLE, response_only=True)],
    )
    def get(self, request: Request) -> Response:
        """A cursor that is too old, or whose owner's role changed, answers with `reset` and starts over."""
        given = request.query_params
        for name in given:
            if name not in PARAMETERS:
                raise bad_field(name, given[name], "one of " + ", ".join(PARAMETERS))
        asked = Pull(
            person=asking(request),
            device=device_of(request),
            site_id=read_key("site", given.get("site")),
            cursor=given.get("cursor", ""),
            limit=_limit(given.get("limit")),
        )
        page = pull(asked=asked, now=now())
        PULLED.inc(len(page.changes))
        PULL_RESETS.inc(page.reset)
        return Response(page.as_dict(), headers={"Cache-Control": "no-store"})


def _limit(text: str | None) -> int:
    if text is None:
        return USUAL_CHANGES
    if text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0:
        return min(int(text), MOST_CHANGES)
    raise bad_field("limit", text, f"a whole number from 1 to {MOST_CHANGES}")
