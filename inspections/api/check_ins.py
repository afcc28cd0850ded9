"""Check-ins over the API, as stored: facts, whatever folding makes of them."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.api.weeks import week_bounds
from inspections.models import CheckIn
from inspections.models.checkins import Action, Outcome
from openings.models import Site
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.filters import MomentFilter, YesNoFilter
from sitetrack.kit.shapes import AnswerSerializer


class CheckInAnswer(AnswerSerializer):
    """One report. `happened_at` is by the phone's clock, `corrected_at` by the server's."""

    number = serializers.CharField(source="opening.number", read_only=True)
    person_name = serializers.CharField(source="person.name", read_only=True)
    company_name = serializers.CharField(source="company.name", read_only=True)

    class Meta:
        model = CheckIn
        fields = [
            "id", "site", "opening", "number", "stage", "action", "happened_at", "corrected_at", "received_at",
            "uncertainty_ms", "clock_flag", "counter", "about", "readings", "answers", "note", "photos", "verdict",
            "extra", "person", "person_name", "company", "company_name", "role", "device", "seq",
        ]  # fmt: skip


class CheckInFilter(django_filters.FilterSet):
    """Filters of check-ins. Times are by the server's clock; a week is Monday to Monday on each site's own clock."""

    site = django_filters.UUIDFilter(field_name="site_id")
    floor = django_filters.UUIDFilter(field_name="opening__floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    number = django_filters.CharFilter(field_name="opening__number", lookup_expr="iexact")
    stage = django_filters.CharFilter()
    action = django_filters.ChoiceFilter(choices=Action.choices)
    verdict = django_filters.ChoiceFilter(choices=Outcome.choices)
    company = django_filters.UUIDFilter(field_name="company_id")
    person = django_filters.UUIDFilter(field_name="person_id")
    device = django_filters.UUIDFilter(field_name="device_id")
    about = django_filters.UUIDFilter()
    week = django_filters.CharFilter(method="in_week", label="ISO 8601 week of the work, such as 2026-W09")
    happened_after = MomentFilter(field_name="corrected_at", lookup_expr="gt")
    happened_before = MomentFilter(field_name="corrected_at", lookup_expr="lt")
    received_after = MomentFilter(field_name="received_at", lookup_expr="gt")
    received_before = MomentFilter(field_name="received_at", lookup_expr="lt")
    clock_doubted = YesNoFilter(method="with_doubted_clock")

    class Meta:
        model = CheckIn
        fields: list[str] = []

    def in_week(self, rows: QuerySet[Any], name: str, week: str) -> QuerySet[Any]:
        within = Q(pk__in=[])
        zones: dict[str, list[Site]] = {}
        for site in Site.objects.visible_to(self.request.user).order_by():
            zones.setdefault(site.time_zone, []).append(site)
        for sites in zones.values():
            begin, end = week_bounds(week, sites[0].zone)
            within |= Q(site__in=sites, corrected_at__gte=begin, corrected_at__lt=end)
        return rows.filter(within)

    def with_doubted_clock(self, rows: QuerySet[Any], name: str, doubted: bool) -> QuerySet[Any]:
        return rows.exclude(clock_flag="") if doubted else rows.filter(clock_flag="")


@extend_schema_view(
    list=extend_schema(
        summary="Check-ins",
        description="A crew sees its own company's. `?company=<id>&week=2026-W09`: what a company did in a week.",
    ),
    retrieve=extend_schema(summary="One check-in"),
)
class CheckInViewSet(ScopedViewSet):
    """Reports from the openings; never changed once stored."""

    queryset = CheckIn.objects.select_related("opening", "person", "company")
    serializer_class = CheckInAnswer
    filterset_class = CheckInFilter
    ordering_fields = ("id", "seq", "received_at", "corrected_at")
