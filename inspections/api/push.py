"""The address that takes check-ins."""

from datetime import datetime
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.throttles import SYNC_THROTTLES
from inspections.models.checkins import Action
from inspections.services.check_ins import MOST_ITEMS
from inspections.sync.fields import MOST_ENTRIES, MOST_READING, read_moment
from inspections.sync.push import Push, push
from inspections.tasks import work_out_readiness
from sitetrack.access.api.asking import asking, device_of
from sitetrack.kit.api import ApiView
from sitetrack.kit.clock import now
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.tally import PUSHED


@extend_schema_field(
    {
        "type": "object",
        "maxProperties": MOST_ENTRIES,
        "properties": {
            "floor_rise": {
                "type": "array",
                "description": "Pairs of degrees and rise under the swing.",
                "items": {"type": "array", "prefixItems": [{"type": "number"}, {"type": "string"}]},
            }
        },
        "additionalProperties": {"type": ["string", "null"], "maxLength": MOST_READING},
    }
)
class Readings(serializers.DictField):
    """Readings as sent."""


class CheckInItem(serializers.Serializer[Any]):
    """One report from an opening, as a phone sends it. Members not listed here are kept."""

    id = serializers.UUIDField(help_text="UUID version 7, made on the phone.")
    site = serializers.UUIDField()
    opening = serializers.CharField(max_length=40, help_text="The opening's number.")
    stage = serializers.CharField(max_length=40, help_text="The stage's code in the opening's plan.")
    action = serializers.ChoiceField(choices=Action.choices)
    happened_at = serializers.DateTimeField(help_text="By the phone's own clock, with Z or an offset.")
    counter = serializers.IntegerField(required=False, allow_null=True, min_value=0, help_text="The phone's own count.")
    about = serializers.UUIDField(
        required=False, allow_null=True, help_text="The check-in that a sign, void or release is about."
    )
    readings = Readings(required=False, help_text="Lengths by name, as read.")
    answers = serializers.DictField(child=serializers.BooleanField(), required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    photos = serializers.ListField(
        child=serializers.RegexField(r"^[0-9a-f]{64}$"), required=False, max_length=12, help_text="SHA-256 of each."
    )


class Batch(serializers.Serializer[Any]):
    """A batch of check-ins."""

    device_time = serializers.DateTimeField(
        required=False, allow_null=True, help_text="The phone's clock at sending; corrects what it says happened when."
    )
    check_ins = serializers.ListField(child=CheckInItem(), max_length=MOST_ITEMS)


class ItemAnswer(serializers.Serializer[Any]):
    """What became of one item."""

    id = serializers.CharField(allow_null=True)
    outcome = serializers.ChoiceField(choices=["stored", "known", "kept_aside", "refused"])
    verdict = serializers.DictField(allow_null=True, help_text="What the server judged of a check; null for work.")
    problem = serializers.DictField(allow_null=True, help_text="Problem details, where kept aside or refused.")


class BatchAnswer(serializers.Serializer[Any]):
    """One result an item, in the order sent."""

    results = ItemAnswer(many=True)


EXAMPLE = {
    "device_time": "2026-03-02T14:05:09Z",
    "check_ins": [
        {
            "id": "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11",
            "site": "01955700-0000-7000-8000-000000000001",
            "opening": "B1-2014",
            "stage": "trueness",
            "action": "finish",
            "happened_at": "2026-03-02T14:04:51Z",
            "counter": 41,
            "readings": {"width_head": "36 1/16", "twist": "1/32"},
            "answers": {"spreaders_in": True},
        }
    ],
}
EXAMPLE_ANSWER = {
    "results": [
        {
            "id": "0195575e-30c0-7a31-8f3b-5b6a2f0d9c11",
            "outcome": "kept_aside",
            "verdict": None,
            "problem": {
                "type": "/problems/kept-aside",
                "title": "This can't be done",
                "status": 400,
                "detail": "Kept whole for the supervisor to place: unknown opening.",
            },
        }
    ]
}


class PushView(ApiView):
    """Check-ins in. Sending a batch again, whole or in parts, in any order, changes nothing."""

    most_body_bytes = 8_000_000
    throttle_classes = SYNC_THROTTLES

    @extend_schema(
        operation_id="sync_push",
        summary="Send check-ins",
        request=Batch,
        responses={200: BatchAnswer},
        tags=["sync"],
        examples=[
            OpenApiExample("one reading", EXAMPLE, request_only=True),
            OpenApiExample("an opening that the site does not have", EXAMPLE_ANSWER, response_only=True),
        ],
    )
    def post(self, request: Request) -> Response:
        """Each item has its own outcome: stored, known (it came before), kept aside for a supervisor, or refused."""
        body = request.data
        items = body.get("check_ins") if isinstance(body, dict) else None
        if not isinstance(body, dict) or not isinstance(items, list):
            raise BadInput(
                f"check_ins: expected a list of at most {MOST_ITEMS} check-ins.",
                errors=[FieldError("check_ins", "not a list", expected=f"a list of at most {MOST_ITEMS} check-ins")],
            )
        batch = Push(asking(request), device_of(request), _device_time(body.get("device_time")), items)
        pushed = push(batch=batch, now=now())
        for result in pushed.results:
            PUSHED.labels(result.outcome).inc()
        if pushed.openings:
            enqueue(work_out_readiness, sorted(map(str, pushed.openings)))
        return Response({"results": [result.as_dict() for result in pushed.results]})


def _device_time(given: Any) -> datetime | None:
    return None if given is None else read_moment("device_time", given)
