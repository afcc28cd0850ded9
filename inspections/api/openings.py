"""Openings over the API: what is to be built there, and how far it is."""

from typing import Any

import django_filters
from django.db.models import Exists, OuterRef, QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Progress, StageStanding
from inspections.models.progress import StageState
from inspections.tasks import work_out_readiness
from openings.api.changes import OpeningChange, read_change
from openings.models import Opening
from openings.services.edit import edit_openings
from sitetrack.access.api.asking import asking
from sitetrack.access.roles import Trade
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import LengthFilter, MomentFilter, YesNoFilter
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.shapes import AnswerSerializer

STATES_SCHEMA = {
    "type": "object",
    "additionalProperties": {"type": "string", "enum": StageState.values},
    "example": {"receive": "done", "match": "ready", "set": "waiting"},
}


class ProgressAnswer(AnswerSerializer):
    """How far an opening is. `earned` of `total` is weight of work, in no unit."""

    next_trade = serializers.CharField(read_only=True, help_text="Trade of the next stage; empty when none can act.")
    other_trades = serializers.SerializerMethodField()
    states = serializers.SerializerMethodField(help_text="State of every stage of the opening's plan, by its code.")

    class Meta:
        model = Progress
        fields = [
            "next_stage", "next_trade", "other_trades", "states", "earned", "total", "held", "last_at",
            "worked_out_at",
        ]  # fmt: skip

    def get_other_trades(self, progress: Progress) -> list[str]:
        return list(progress.state.get("other_trades", ()))

    @extend_schema_field(STATES_SCHEMA)
    def get_states(self, progress: Progress) -> dict[str, str]:
        return {code: stage["state"] for code, stage in progress.state.get("stages", {}).items()}


class OpeningAnswer(AnswerSerializer):
    """One opening. What the schedule does not tell is empty or null: unknown is not none."""

    building = serializers.UUIDField(source="floor.building_id", read_only=True)
    wall = serializers.CharField(source="wall.code", default="", read_only=True)
    plan = serializers.CharField(source="plan.code", read_only=True)
    progress = ProgressAnswer(
        read_only=True, allow_null=True, default=None, help_text="Null until it was first worked out."
    )

    class Meta:
        model = Opening
        fields = [
            "id", "site", "building", "floor", "number", "plan", "mark", "width", "height", "size_is", "leaves",
            "construction", "hand", "hinges_seen_from_push", "jamb_depth", "wall", "rating_text", "rating_minutes",
            "electrified", "hardware_set", "covering", "covering_thickness", "room_from", "room_to", "remarks",
            "extra", "source_key", "x", "y", "walk", "in_schedule", "version", "changed_at", "progress",
        ]  # fmt: skip


class OpeningFilter(django_filters.FilterSet):
    """Filters of openings; lengths as written on a job, a bare number being inches."""

    site = django_filters.UUIDFilter(field_name="site_id")
    building = django_filters.UUIDFilter(field_name="floor__building_id")
    floor = django_filters.UUIDFilter(field_name="floor_id")
    number = django_filters.CharFilter(lookup_expr="iexact")
    number__contains = django_filters.CharFilter(field_name="number", lookup_expr="icontains")
    mark = django_filters.CharFilter(lookup_expr="iexact")
    width = LengthFilter()
    width__gte = LengthFilter(field_name="width", lookup_expr="gte")
    width__lte = LengthFilter(field_name="width", lookup_expr="lte")
    height = LengthFilter()
    height__gte = LengthFilter(field_name="height", lookup_expr="gte")
    height__lte = LengthFilter(field_name="height", lookup_expr="lte")
    hand = django_filters.ChoiceFilter(choices=Opening.Hand.choices)
    construction = django_filters.ChoiceFilter(choices=Opening.Construction.choices)
    leaves = django_filters.NumberFilter(min_value=1, max_value=2)
    rating_minutes = django_filters.NumberFilter(min_value=0, max_value=1000)
    rating_minutes__gte = django_filters.NumberFilter(
        field_name="rating_minutes", lookup_expr="gte", min_value=0, max_value=1000
    )
    electrified = YesNoFilter()
    hardware_set = django_filters.CharFilter(lookup_expr="iexact")
    wall = django_filters.CharFilter(field_name="wall__code", lookup_expr="iexact")
    in_schedule = YesNoFilter()
    changed_after = MomentFilter(field_name="changed_at", lookup_expr="gt")
    ready_for = django_filters.ChoiceFilter(
        choices=Trade.choices, method="for_trade", label="A trade that can act on some stage of it now"
    )
    next_trade = django_filters.ChoiceFilter(field_name="progress__next_trade", choices=Trade.choices)
    next_stage = django_filters.CharFilter(field_name="progress__next_stage")
    held = YesNoFilter(field_name="progress__held")

    class Meta:
        model = Opening
        fields: list[str] = []

    def for_trade(self, rows: QuerySet[Any], name: str, trade: str) -> QuerySet[Any]:
        ready = StageStanding.objects.filter(opening=OuterRef("pk"), trade=trade, actionable=True)
        return rows.filter(Exists(ready))


@extend_schema_view(
    list=extend_schema(
        summary="Openings, with how far each is",
        description="`?ready_for=drywall&floor=<id>` answers which openings of a floor a trade can start on.",
    ),
    retrieve=extend_schema(summary="One opening"),
)
class OpeningViewSet(ScopedViewSet):
    """Openings and how far they are."""

    http_method_names = ["get", "patch", "head", "options"]

    queryset = Opening.objects.select_related("site", "floor", "wall", "plan", "progress")
    serializer_class = OpeningAnswer
    filterset_class = OpeningFilter
    ordering_fields = ("id", "number", "walk", "changed_at", "seq")

    @extend_schema(
        operation_id="openings_change",
        summary="Correct what the schedule says of an opening",
        request=OpeningChange,
        responses=OpeningAnswer,
        examples=[OpenApiExample("a hand corrected", {"hand": "LH", "width": "3'-0\""}, request_only=True)],
    )
    def partial_update(self, request: Request, **kwargs: Any) -> Response:
        """For supervisors. Members left out stay; null or empty text is unknown. Every change is on the record."""
        opening = self.get_object()
        self.check_match(opening, required=True)
        changed = edit_openings(
            site=opening.site,
            versions={opening.pk: opening.version},
            facts=read_change(request.data, opening.site),
            who=asking(request),
            now=now(),
        )
        if changed:
            enqueue(work_out_readiness, [str(opening.pk)])
        return self.answer(self.get_object())
