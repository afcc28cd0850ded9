"""Where the stages of openings stand, over the API."""

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.models import StageStanding
from inspections.models.progress import StageState
from sitetrack.access.roles import Trade
from sitetrack.kit.api import ScopedList
from sitetrack.kit.filters import YesNoFilter
from sitetrack.kit.shapes import AnswerSerializer


class StageAnswer(AnswerSerializer):
    """One stage of one opening. `actionable`: its trade can act on it now. `place` is its order in the plan."""

    number = serializers.CharField(source="opening.number", read_only=True)

    class Meta:
        model = StageStanding
        fields = [
            "site", "floor", "opening", "number", "stage", "place", "trade", "state", "actionable",
            "awaits_signature", "since", "weight",
        ]  # fmt: skip


class StageFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    building = django_filters.UUIDFilter(field_name="floor__building_id")
    floor = django_filters.UUIDFilter(field_name="floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    stage = django_filters.CharFilter()
    trade = django_filters.ChoiceFilter(choices=Trade.choices)
    state = django_filters.ChoiceFilter(choices=StageState.choices)
    actionable = YesNoFilter()
    awaits_signature = YesNoFilter()

    class Meta:
        model = StageStanding
        fields: list[str] = []


@extend_schema_view(list=extend_schema(summary="Stages of openings and how each stands"))
class StageViewSet(ScopedList):
    """One row for each stage of each opening's plan; an opening and a stage code name it."""

    queryset = StageStanding.objects.select_related("opening")
    serializer_class = StageAnswer
    filterset_class = StageFilter
    ordering_fields = ("id", "place")
