"""Items kept aside, over the API; a supervisor places them on a page."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view

from inspections.models import KeptAside
from sitetrack.access.scope import CompanyScopedQuerySet
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.filters import YesNoFilter
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
