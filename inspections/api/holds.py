"""Holds over the API."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.models import Hold
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.filters import MomentFilter, YesNoFilter
from sitetrack.kit.shapes import AnswerSerializer


class HoldAnswer(AnswerSerializer):
    """What stops an opening. `id` is that of the check-in that opened it; to release it, send a release about it."""

    number = serializers.CharField(source="opening.number", read_only=True)
    company_name = serializers.CharField(source="company.name", read_only=True)

    class Meta:
        model = Hold
        fields = [
            "id", "site", "opening", "number", "stage", "reason", "reasons", "opened_at", "opened_by", "company",
            "company_name", "released_at", "released_by", "released_why",
        ]  # fmt: skip


class HoldFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    floor = django_filters.UUIDFilter(field_name="opening__floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    stage = django_filters.CharFilter()
    company = django_filters.UUIDFilter(field_name="company_id")
    open = YesNoFilter(method="still_open")
    opened_before = MomentFilter(field_name="opened_at", lookup_expr="lt")

    class Meta:
        model = Hold
        fields: list[str] = []

    def still_open(self, rows: QuerySet[Any], name: str, is_open: bool) -> QuerySet[Any]:
        return rows.filter(released_at__isnull=is_open)


@extend_schema_view(list=extend_schema(summary="Holds"), retrieve=extend_schema(summary="One hold"))
class HoldViewSet(ScopedViewSet):
    """What stops openings, and since when."""

    queryset = Hold.objects.select_related("opening", "company")
    serializer_class = HoldAnswer
    filterset_class = HoldFilter
    ordering_fields = ("opened_at", "id")
