"""Mutes over the API: which alert rules are silenced where, muting one, lifting one."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Mute
from inspections.rules.table import TITLES
from inspections.services.mutes import LONGEST_REASON, Area, lift_mute, mute
from openings.api.sites import site_asked
from openings.models import Floor, Opening, Site, WallType
from sitetrack.access.api.asking import asking
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import YesNoFilter
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.shapes import AnswerSerializer, MomentInput

AREAS = ("floor", "opening", "wall")


class MuteAnswer(AnswerSerializer):
    """One rule, silenced on a floor, at an opening or in walls of a type until a moment; it ends by itself."""

    wall = serializers.CharField(source="wall.code", default="", read_only=True, help_text="Code of the type of wall.")

    class Meta:
        model = Mute
        fields = [
            "id", "site", "rule", "floor", "opening", "wall", "reason", "muted_at", "muted_by", "until", "lifted_at",
            "lifted_by",
        ]  # fmt: skip


class Muting(serializers.Serializer[Any]):
    """What is muted, where, until when and why. Exactly one of floor, opening and wall is given."""

    site = serializers.UUIDField()
    rule = serializers.CharField(max_length=40, help_text="Code of the rule.")
    floor = serializers.UUIDField(default=None, allow_null=True)
    opening = serializers.UUIDField(default=None, allow_null=True)
    wall = serializers.CharField(default="", allow_blank=True, max_length=60, help_text="Code of a type of wall.")
    until = MomentInput()
    reason = serializers.CharField(max_length=LONGEST_REASON)


class MuteFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    rule = django_filters.ChoiceFilter(choices=[(code, code) for code in TITLES])
    floor = django_filters.UUIDFilter(field_name="floor_id")
    opening = django_filters.UUIDFilter(field_name="opening_id")
    holding = YesNoFilter(method="still_holding")

    class Meta:
        model = Mute
        fields: list[str] = []

    def still_holding(self, rows: QuerySet[Any], name: str, holding: bool) -> QuerySet[Any]:
        held = Mute.objects.holding(now())
        return rows.filter(pk__in=held) if holding else rows.exclude(pk__in=held)


@extend_schema_view(
    list=extend_schema(summary="Mutes", description="`?holding=true&site=<id>` answers what is silent now."),
    retrieve=extend_schema(summary="One mute"),
)
class MuteViewSet(ScopedViewSet):
    """Who silenced what, where, until when and why; never a secret on the site."""

    queryset = Mute.objects.select_related("wall")
    serializer_class = MuteAnswer
    filterset_class = MuteFilter
    ordering_fields = ("id", "until")

    @extend_schema(
        operation_id="mutes_make",
        summary="Mute a rule in an area",
        request=Muting,
        responses={201: MuteAnswer},
        examples=[
            OpenApiExample(
                "a floor",
                {
                    "site": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910213",
                    "rule": "order-uncertain",
                    "floor": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910214",
                    "until": "2026-03-06T23:00:00Z",
                    "reason": "Two crews asked; the answer comes on Thursday.",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """For supervisors and inspectors. A rule that may be critical is muted for a week at most."""
        asked = Muting(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        site = site_asked(request, given["site"])
        made = mute(
            site=site, rule=given["rule"], area=_area(site, given), until=given["until"], reason=given["reason"],
            who=asking(request), now=now(),
        )  # fmt: skip
        return Response(self.get_serializer(made).data, status=201)

    @extend_schema(operation_id="mutes_lift", summary="End a mute now", request=None, responses=MuteAnswer)
    @action(detail=True, methods=["post"])
    def lift(self, request: Request, **kwargs: Any) -> Response:
        """For supervisors and inspectors. One that has ended stays as it ended."""
        made = self.get_object()
        self.check_match(made, required=False)
        return self.answer(lift_mute(mute=made, who=asking(request), now=now()))


def _area(site: Site, given: dict[str, Any]) -> Area:
    """The one area that was named; raises `BadInput` for none, several, or one that the site has not."""
    named = [name for name in AREAS if given[name]]
    if len(named) != 1:
        error = FieldError("floor", "give exactly one of floor, opening and wall", expected="one of the three")
        raise BadInput("A mute holds for one floor, one opening or one type of wall: give exactly one.", errors=[error])
    (name,) = named
    floors, openings, walls = Floor.objects.filter(site=site), Opening.objects.filter(site=site), WallType.objects
    found: Area | None = {
        "floor": lambda key: floors.filter(pk=key).first(),
        "opening": lambda key: openings.filter(pk=key).first(),
        "wall": lambda code: walls.filter(site=site, code=code).first(),
    }[name](given[name])
    if found is None:
        error = FieldError(name, f"the site has no such {name}", read=str(given[name]))
        raise BadInput(f"{name}: the site has no such {name}.", errors=[error])
    return found
