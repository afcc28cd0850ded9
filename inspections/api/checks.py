"""Frame checks and sign-offs over the API."""

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.models import FrameCheck, SignOff
from inspections.models.checkins import Outcome
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.filters import MomentFilter
from sitetrack.kit.shapes import AnswerSerializer


class FrameCheckAnswer(AnswerSerializer):
    """What the server judged of one reading. `id` is that of the check-in read; `judged` has every item's margin."""

    id = serializers.UUIDField(source="check_in_id", read_only=True)
    number = serializers.CharField(source="opening.number", read_only=True)
    readings = serializers.JSONField(source="check_in.readings", read_only=True)

    class Meta:
        model = FrameCheck
        fields = [
            "id", "site", "opening", "number", "company", "stage", "read_at", "readings", "profile",
            "verdict", "judged",
        ]  # fmt: skip


class FrameCheckFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    floor = django_filters.UUIDFilter(field_name="opening__floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    company = django_filters.UUIDFilter(field_name="company_id")
    stage = django_filters.CharFilter()
    verdict = django_filters.ChoiceFilter(choices=Outcome.choices)
    read_after = MomentFilter(field_name="read_at", lookup_expr="gt")
    read_before = MomentFilter(field_name="read_at", lookup_expr="lt")

    class Meta:
        model = FrameCheck
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(summary="Frame checks", description="A crew sees its own company's."),
    retrieve=extend_schema(summary="One frame check"),
)
class FrameCheckViewSet(ScopedViewSet):
    """Verdicts on readings, with the margin and the source of every limit."""

    queryset = FrameCheck.objects.select_related("check_in", "opening")
    serializer_class = FrameCheckAnswer
    filterset_class = FrameCheckFilter
    ordering_fields = ("check_in", "read_at")


class SignOffAnswer(AnswerSerializer):
    """A signature on a reading. `id` is that of the check-in that signed; `about` that of the reading."""

    id = serializers.UUIDField(source="check_in_id", read_only=True)
    number = serializers.CharField(source="opening.number", read_only=True)
    signer_name = serializers.CharField(source="signer.name", read_only=True)

    class Meta:
        model = SignOff
        fields = [
            "id", "n", "site", "opening", "number", "stage", "about", "signer", "signer_name", "company", "role",
            "signed_at", "waiver_reason", "digest_before", "digest",
        ]  # fmt: skip


class SignOffFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    stage = django_filters.CharFilter()
    signer = django_filters.UUIDFilter(field_name="signer_id")
    about = django_filters.UUIDFilter()
    signed_after = MomentFilter(field_name="signed_at", lookup_expr="gt")
    signed_before = MomentFilter(field_name="signed_at", lookup_expr="lt")

    class Meta:
        model = SignOff
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(
        summary="Sign-offs",
        description="Append-only; each carries the digest of the one before it on its site. `?ordering=n`: the chain.",
    ),
    retrieve=extend_schema(summary="One sign-off"),
)
class SignOffViewSet(ScopedViewSet):
    """Signatures, sealed in a chain by site."""

    queryset = SignOff.objects.select_related("opening", "signer")
    serializer_class = SignOffAnswer
    filterset_class = SignOffFilter
    ordering_fields = ("check_in", "n", "signed_at")
