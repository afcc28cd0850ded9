"""Alerts over the API: read, acknowledge, close, open again."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Alert
from inspections.models.alerts import Severity
from inspections.models.mutes import muted_at
from inspections.rules.table import TITLES
from inspections.services import alerts
from inspections.tasks import work_out_after_answer
from sitetrack.access.api.asking import asking
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import MomentFilter, YesNoFilter
from sitetrack.kit.shapes import AnswerSerializer


class AlertAnswer(AnswerSerializer):
    """One thing that went wrong, with its evidence; of the whole site where `opening` is null."""

    number = serializers.CharField(source="opening.number", default="", read_only=True)

    class Meta:
        model = Alert
        fields = [
            "id", "site", "opening", "number", "rule", "severity", "cause", "opened_at", "happened_at", "evidence",
            "acknowledged_at", "acknowledged_by", "closed_at", "closed_how", "closed_by", "closed_why", "seq",
        ]  # fmt: skip


class Closing(serializers.Serializer[Any]):
    """Why an alert is closed."""

    why = serializers.CharField(max_length=2000, help_text="What was found and done.")


class AlertFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    floor = django_filters.UUIDFilter(field_name="opening__floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    rule = django_filters.ChoiceFilter(choices=[(code, code) for code in TITLES])
    severity = django_filters.ChoiceFilter(choices=Severity.choices)
    open = YesNoFilter(method="still_open")
    muted = YesNoFilter(method="muted_now")
    acknowledged = YesNoFilter(field_name="acknowledged_at", lookup_expr="isnull", exclude=True)
    happened_after = MomentFilter(field_name="happened_at", lookup_expr="gt")
    happened_before = MomentFilter(field_name="happened_at", lookup_expr="lt")

    class Meta:
        model = Alert
        fields: list[str] = []

    def still_open(self, rows: QuerySet[Any], name: str, is_open: bool) -> QuerySet[Any]:
        return rows.filter(closed_at__isnull=is_open)

    def muted_now(self, rows: QuerySet[Any], name: str, muted: bool) -> QuerySet[Any]:
        return rows.filter(muted_at(now())) if muted else rows.exclude(muted_at(now()))


@extend_schema_view(
    list=extend_schema(summary="Alerts", description="`?open=true&rule=boarded-before-checked` answers what is open."),
    retrieve=extend_schema(summary="One alert"),
)
class AlertViewSet(ScopedViewSet):
    """What went wrong; closed by evidence or by a named person, never deleted."""

    queryset = Alert.objects.select_related("opening")
    serializer_class = AlertAnswer
    filterset_class = AlertFilter
    ordering_fields = ("id", "seq", "happened_at", "opened_at")

    @extend_schema(
        operation_id="alerts_acknowledge",
        summary="Say that you have seen it and are on it",
        request=None,
        responses=AlertAnswer,
    )
    @action(detail=True, methods=["post"])
    def acknowledge(self, request: Request, **kwargs: Any) -> Response:
        """The first to say so stays named; again changes nothing."""
        alert = self.get_object()
        self.check_match(alert, required=False)
        return self.answer(alerts.acknowledge(alert=alert, who=asking(request), now=now()))

    @extend_schema(
        operation_id="alerts_close",
        summary="Close it, with a reason",
        request=Closing,
        responses=AlertAnswer,
        examples=[OpenApiExample("closed", {"why": "Board off on the pull side; frame reset and read again."})],
    )
    @action(detail=True, methods=["post"])
    def close(self, request: Request, **kwargs: Any) -> Response:
        """Closed in your name. A closed one stays as it was closed."""
        asked = Closing(data=request.data)
        asked.is_valid(raise_exception=True)
        alert = self.get_object()
        self.check_match(alert, required=False)
        closed = alerts.close(alert=alert, who=asking(request), why=asked.validated_data["why"], now=now())
        work_out_after_answer(closed)
        return self.answer(closed)

    @extend_schema(
        operation_id="alerts_reopen", summary="Take back your own closing", request=None, responses=AlertAnswer
    )
    @action(detail=True, methods=["post"])
    def reopen(self, request: Request, **kwargs: Any) -> Response:
        """For who closed it by mistake, soon after; what evidence closed is opened by evidence."""
        alert = self.get_object()
        self.check_match(alert, required=False)
        work_out_after_answer(alerts.reopen(alert=alert, who=asking(request), now=now()))
        return self.answer(self.get_object())
