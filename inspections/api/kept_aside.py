"""Items kept aside, over the API: what waits, and a supervisor's placing or discarding of it."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import KeptAside
from inspections.sync.kept_aside import LONGEST_REASON, discard_kept_aside, place_kept_aside
from inspections.tasks import work_out_readiness
from openings.models import Opening
from sitetrack.access.api.asking import asking
from sitetrack.access.scope import CompanyScopedQuerySet
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import YesNoFilter
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.shapes import AnswerSerializer


class KeptAsideAnswer(AnswerSerializer):
    """An item that names what the site does not have, whole as it was sent; `settled` is empty while it waits."""

    class Meta:
        model = KeptAside
        fields = [
            "id", "site", "reason", "payload", "happened_at", "corrected_at", "received_at", "person", "company",
            "role", "device", "settled", "settled_by", "settled_at", "settled_why", "seq",
        ]  # fmt: skip


class KeptAsideFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    company = django_filters.UUIDFilter(field_name="company_id")
    waiting = YesNoFilter(method="still_waiting")

    class Meta:
        model = KeptAside
        fields: list[str] = []

    def still_waiting(self, rows: QuerySet[Any], name: str, waiting: bool) -> QuerySet[Any]:
        return rows.filter(settled="") if waiting else rows.exclude(settled="")


class Place(serializers.Serializer[Any]):
    """Where an item belongs."""

    opening = serializers.CharField(max_length=40, help_text="The opening's number.")
    stage = serializers.CharField(max_length=40, help_text="The stage's code in the opening's plan.")


class Discarding(serializers.Serializer[Any]):
    """Why an item counts for nothing."""

    why = serializers.CharField(max_length=LONGEST_REASON)


@extend_schema_view(
    list=extend_schema(summary="Items kept aside", description="A crew sees its own company's."),
    retrieve=extend_schema(summary="One item kept aside"),
)
class KeptAsideViewSet(ScopedViewSet):
    """Reports that could not be placed; nothing that was sent is thrown away."""

    # What one company reported is no other crew's to read, here as in its check-ins.
    queryset = CompanyScopedQuerySet(KeptAside).all()
    serializer_class = KeptAsideAnswer
    filterset_class = KeptAsideFilter
    ordering_fields = ("id", "seq", "received_at")

    @extend_schema(
        operation_id="kept_aside_place",
        summary="Say where an item belongs",
        request=Place,
        responses=KeptAsideAnswer,
        examples=[OpenApiExample("a misread number", {"opening": "B1-2014", "stage": "anchor"}, request_only=True)],
    )
    @action(detail=True, methods=["post"])
    def place(self, request: Request, **kwargs: Any) -> Response:
        """For supervisors. It becomes a check-in under its own id and counts as of when it happened."""
        asked = Place(data=request.data)
        asked.is_valid(raise_exception=True)
        item, who = self.get_object(), asking(request)
        opening = _opening(item, asked.validated_data["opening"])
        check_in = place_kept_aside(item=item, opening=opening, stage=asked.validated_data["stage"], who=who, now=now())
        enqueue(work_out_readiness, [str(check_in.opening_id)])
        return self.answer(self.get_object())

    @extend_schema(
        operation_id="kept_aside_discard",
        summary="Discard an item, with a reason",
        request=Discarding,
        responses=KeptAsideAnswer,
    )
    @action(detail=True, methods=["post"])
    def discard(self, request: Request, **kwargs: Any) -> Response:
        """For supervisors. The item stays on record with the reason."""
        asked = Discarding(data=request.data)
        asked.is_valid(raise_exception=True)
        why = asked.validated_data["why"]
        return self.answer(discard_kept_aside(item=self.get_object(), who=asking(request), why=why, now=now()))


def _opening(item: KeptAside, number: str) -> Opening:
    found = Opening.objects.filter(site=item.site_id, number__iexact=number.strip()).first()
    if found is None:
        error = FieldError("opening", "no such opening", read=number, expected="the number of an opening of the site")
        raise BadInput(f"opening: the site has no opening {number!r}.", errors=[error])
    return found
