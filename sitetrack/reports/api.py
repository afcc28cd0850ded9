"""Issued weekly statuses over the API."""

from typing import Any

import django_filters
from django.urls import reverse
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers

from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.filters import MomentFilter
from sitetrack.kit.shapes import AnswerSerializer
from sitetrack.reports.models import WeeklyStatus

ADDRESSES = {
    "xlsx": "weekly-xlsx",
    "zip": "weekly-csv",
    "json": "weekly-json",
    "letter.pdf": "weekly-letter",
    "a4.pdf": "weekly-a4",
}
FILES = {
    "type": "object",
    "description": "By format: where it is fetched, its bytes, its SHA-256.",
    "additionalProperties": {
        "type": "object",
        "required": ["address", "bytes", "sha256"],
        "properties": {
            "address": {"type": "string"},
            "bytes": {"type": "integer"},
            "sha256": {"type": "string"},
        },
    },
}


class ReportAnswer(AnswerSerializer):
    """A weekly status as issued. `digest` is the SHA-256 of its JSON; `figures` are the site's, by name."""

    week = serializers.CharField(source="iso_week", read_only=True)
    files = serializers.SerializerMethodField()

    class Meta:
        model = WeeklyStatus
        fields = ["id", "site", "week", "cut_off", "made_at", "digest", "figures", "files"]

    @extend_schema_field(FILES)
    def get_files(self, row: WeeklyStatus) -> dict[str, dict[str, Any]]:
        """The files under the addresses they are fetched at."""
        return {
            form: {
                "address": reverse(f"reports:{ADDRESSES[form]}", args=[row.site.code, row.iso_week]),
                "bytes": listed["bytes"],
                "sha256": listed["sha256"],
            }
            for form, listed in row.files.items()
            if form in ADDRESSES
        }


class ReportFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    week = django_filters.CharFilter(field_name="iso_week")
    cut_off_after = MomentFilter(field_name="cut_off", lookup_expr="gt")
    cut_off_before = MomentFilter(field_name="cut_off", lookup_expr="lt")

    class Meta:
        model = WeeklyStatus
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(summary="Weekly statuses", description="As issued. Not for crews: they hold every company."),
    retrieve=extend_schema(summary="One weekly status"),
)
class ReportViewSet(ScopedViewSet):
    """Weekly statuses as they were issued."""

    queryset = WeeklyStatus.objects.select_related("site")
    serializer_class = ReportAnswer
    filterset_class = ReportFilter
    ordering_fields = ("id", "cut_off")
