"""Tolerance profiles over the API: every version of a site's limits, and making the next."""

from typing import Any

import django_filters
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import ToleranceProfile
from inspections.services.profiles import set_profile
from inspections.trueness.profile import LONGEST_SOURCE
from openings.api.sites import site_asked
from sitetrack.access.api.asking import asking
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.shapes import AnswerSerializer


class ProfileAnswer(AnswerSerializer):
    """One version. `data` has every limit with value, unit, source, edition and how well the source was confirmed."""

    class Meta:
        model = ToleranceProfile
        fields = ["id", "site", "version", "data", "made_at", "made_by"]


class ProfileChange(serializers.Serializer[Any]):
    """What is to be different in the next version; what is left out stays as it is."""

    site = serializers.UUIDField()
    changes = serializers.DictField(
        allow_empty=False, help_text="Settings by name; a limit as written on a job, null for what is published."
    )
    said_in = serializers.CharField(
        max_length=LONGEST_SOURCE, default="", allow_blank=True, help_text="Where the site's documents say so."
    )
    based_on = serializers.IntegerField(
        min_value=1, default=None, allow_null=True, help_text="The version you read; refused when another came since."
    )


class ProfileFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    version = django_filters.NumberFilter(min_value=1, max_value=2_000_000_000)

    class Meta:
        model = ToleranceProfile
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(
        summary="Tolerance profiles",
        description="`?ordering=-version&page_size=1&site=<id>` answers what a site goes by now. "
        "None yet: the published limits, which are stored as version 1 with the first reading.",
    ),
    retrieve=extend_schema(summary="One version of a site's tolerances"),
)
class ProfileViewSet(ScopedViewSet):
    """Every version of every limit, so that an old verdict can be read by what it was given."""

    queryset = ToleranceProfile.objects.all()
    serializer_class = ProfileAnswer
    filterset_class = ProfileFilter
    ordering_fields = ("id", "version")

    @extend_schema(
        operation_id="profiles_make",
        summary="Make the next version of a site's tolerances",
        request=ProfileChange,
        responses={201: ProfileAnswer},
        examples=[
            OpenApiExample(
                "a tighter plumb",
                {
                    "site": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910213",
                    "changes": {"plumb": "1/32", "gap_rule": "agency_guide_2011", "twist": None},
                    "said_in": "Project manual 08 11 13, 3.4 B",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """For supervisors. Verdicts already given keep the version they were given by; the same again makes none."""
        asked = ProfileChange(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        site = site_asked(request, given.pop("site"))
        made = set_profile(site=site, who=asking(request), now=now(), **given)
        return Response(self.get_serializer(made).data, status=201)
