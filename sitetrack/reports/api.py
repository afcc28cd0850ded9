"""Issued weekly statuses over the API."""

from typing import Any

import django_filters
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from openings.api.sites import site_asked
from sitetrack.access.api.asking import asking
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import MomentFilter
from sitetrack.kit.jobs import enqueue
from sitetrack.kit.problems import NotFound
from sitetrack.kit.shapes import AnswerSerializer
from sitetrack.reports.asking_for import ask_for_status
from sitetrack.reports.keeping import KEPT_FORMATS, kept_file
from sitetrack.reports.making import Format
from sitetrack.reports.models import WeeklyStatus
from sitetrack.reports.tasks import make_weekly_status
from sitetrack.reports.week import EXAMPLE

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


class ReportWish(serializers.Serializer[Any]):
    """Which status is to be made."""

    site = serializers.UUIDField()
    week = serializers.CharField(max_length=8, help_text=f"ISO 8601, for example {EXAMPLE}.")


class ReportOwed(serializers.Serializer[Any]):
    """A status that is being made."""

    site = serializers.UUIDField(read_only=True)
    week = serializers.CharField(read_only=True)
    address = serializers.CharField(read_only=True, help_text="Lists it as soon as it is made.")


class AnyOrder(DefaultContentNegotiation):
    """A file is what it is: a program that asks for any type of it gets it, and refusals stay JSON."""

    def select_renderer(
        self, request: Request, renderers: Any, format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        renderer = next(iter(renderers))
        return renderer, renderer.media_type


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
    """Weekly statuses as they were issued: made by the clock, or here."""

    queryset = WeeklyStatus.objects.select_related("site")
    serializer_class = ReportAnswer
    filterset_class = ReportFilter
    ordering_fields = ("id", "cut_off")

    @extend_schema(
        operation_id="reports_make",
        summary="Have a weekly status made",
        request=ReportWish,
        responses={200: ReportAnswer, 202: ReportOwed},
    )
    def create(self, request: Request) -> Response:
        """For supervisors. Answers the one kept, or 202 while it is made; a week is issued once its cut-off settled."""
        asked = ReportWish(data=request.data)
        asked.is_valid(raise_exception=True)
        site = site_asked(request, asked.validated_data["site"])
        week, kept = ask_for_status(site=site, week=asked.validated_data["week"], who=asking(request), now=now())
        if kept is not None:
            return self.answer(kept)
        enqueue(make_weekly_status, site.pk, str(week))
        address = f"{reverse('api:reports-list')}?site={site.pk}&week={week}"
        return Response(ReportOwed({"site": site.pk, "week": str(week), "address": address}).data, status=202)

    @extend_schema(
        operation_id="reports_file",
        summary="Fetch a file of a weekly status",
        parameters=[
            OpenApiParameter(
                "form", str, OpenApiParameter.PATH, enum=[str(form) for form in KEPT_FORMATS], description="Its format."
            )
        ],
        responses={(200, "application/octet-stream"): OpenApiTypes.BINARY},
    )
    @action(detail=True, methods=["get"], url_path="files/(?P<form>[a-z0-9.]+)", content_negotiation_class=AnyOrder)
    def files(self, request: Request, form: str, **kwargs: Any) -> FileResponse:
        """As it was issued, with the SHA-256 that is listed. Pages ask to be signed in; this takes a token."""
        kept = self.get_object()
        file = kept_file(kept, Format(form)) if form in set(KEPT_FORMATS) else None
        if file is None:
            raise NotFound("No such file of this status.")
        response = FileResponse(
            file.open(), as_attachment=True, filename=file.name, content_type="application/octet-stream"
        )
        response.headers["Cache-Control"] = "private, no-store"
        return response
