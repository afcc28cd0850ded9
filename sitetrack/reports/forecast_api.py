"""Forecasts over the API, as they were kept."""

from typing import Any

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.shapes import AnswerSerializer
from sitetrack.reports.models import Forecast

TOLD = "As told in `sitetrack/reports/forecast_told.py`: ends of the site, its trades and floors, bands, back-test."


class ForecastLine(AnswerSerializer):
    """A forecast, without what it tells."""

    class Meta:
        model = Forecast
        fields = ["id", "site", "as_of", "made_at", "digest"]


class ForecastAnswer(ForecastLine):
    """A forecast. It stands on the site's morning of `as_of`; `digest` is the SHA-256 of what went in.

    `told` has, for the site, each trade and each floor, the days by which a tenth, half and nine tenths of the runs had
    ended, and bands of the weight earned week by week.
    """

    told = serializers.DictField(read_only=True, help_text=TOLD)

    class Meta(ForecastLine.Meta):
        fields = [*ForecastLine.Meta.fields, "told"]


class ForecastFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    as_of = django_filters.DateFilter(field_name="as_of")
    as_of_after = django_filters.DateFilter(field_name="as_of", lookup_expr="gt")
    as_of_before = django_filters.DateFilter(field_name="as_of", lookup_expr="lt")

    class Meta:
        model = Forecast
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(
        summary="Forecasts",
        description="One a day and site, kept for 90 days. Not for crews: they tell of every company's work.",
    ),
    retrieve=extend_schema(summary="One forecast, with all it tells", responses=ForecastAnswer),
)
class ForecastViewSet(ScopedViewSet):
    """Forecasts; a list has them without what they tell, which may be long."""

    queryset = Forecast.objects.all()
    filterset_class = ForecastFilter
    ordering_fields = ("id", "as_of", "made_at")

    def get_queryset(self) -> Any:
        rows = super().get_queryset()
        return rows.defer("told") if self.action == "list" else rows

    def get_serializer_class(self) -> type[ForecastLine]:
        return ForecastLine if self.action == "list" else ForecastAnswer
