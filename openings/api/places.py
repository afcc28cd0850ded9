"""Buildings and floors over the API."""

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view

from openings.models import Building, Floor
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.shapes import AnswerSerializer


class BuildingAnswer(AnswerSerializer):
    class Meta:
        model = Building
        fields = ["id", "site", "code", "name"]


class BuildingFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    code = django_filters.CharFilter(lookup_expr="iexact")

    class Meta:
        model = Building
        fields: list[str] = []


@extend_schema_view(list=extend_schema(summary="Buildings"), retrieve=extend_schema(summary="One building"))
class BuildingViewSet(ScopedViewSet):
    """Buildings of a site."""

    queryset = Building.objects.all()
    serializer_class = BuildingAnswer
    filterset_class = BuildingFilter
    ordering_fields = ("id", "code")


class FloorAnswer(AnswerSerializer):
    class Meta:
        model = Floor
        fields = ["id", "site", "building", "code", "name", "level", "elevation", "due_on"]


class FloorFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    building = django_filters.UUIDFilter(field_name="building_id")
    code = django_filters.CharFilter(lookup_expr="iexact")
    due_before = django_filters.DateFilter(field_name="due_on", lookup_expr="lt")

    class Meta:
        model = Floor
        fields: list[str] = []


@extend_schema_view(list=extend_schema(summary="Floors"), retrieve=extend_schema(summary="One floor"))
class FloorViewSet(ScopedViewSet):
    """Floors of a site's buildings; `level` is their order, lowest first."""

    queryset = Floor.objects.select_related("site")
    serializer_class = FloorAnswer
    filterset_class = FloorFilter
    ordering_fields = ("id", "level", "code")
