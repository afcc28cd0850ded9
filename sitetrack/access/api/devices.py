"""Devices over the API: enrol, list, revoke, and codes for enrolling."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from redis.exceptions import RedisError
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle
from rest_framework.views import APIView

from sitetrack.access.api.asking import asking
from sitetrack.access.models import Device, Membership, Person
from sitetrack.access.rights import Right, must
from sitetrack.access.selectors.devices import DeviceQuerySet
from sitetrack.access.services.enrolment import CODE_LIFE, enrol_device, make_enrolment_code, revoke_device
from sitetrack.kit.api import ApiView, ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import YesNoFilter
from sitetrack.kit.problems import BadInput, FieldError, Forbidden
from sitetrack.kit.shapes import AnswerSerializer, Moment

NO_STORE = {"Cache-Control": "no-store"}


class DeviceAnswer(AnswerSerializer):
    """A phone or program. Its token is shown at enrolment and never again."""

    class Meta:
        model = Device
        fields = [
            "id", "site", "person", "kind", "name", "enrolled_at", "last_seen_at", "clock_offset_ms",
            "clock_jumped_at", "revoked_at",
        ]  # fmt: skip


class DeviceFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    person = django_filters.UUIDFilter(field_name="person_id")
    kind = django_filters.ChoiceFilter(choices=Device.Kind.choices)
    revoked = YesNoFilter(method="is_revoked")

    class Meta:
        model = Device
        fields: list[str] = []

    def is_revoked(self, rows: QuerySet[Any], name: str, revoked: bool) -> QuerySet[Any]:
        return rows.filter(revoked_at__isnull=not revoked)


class Enrolment(serializers.Serializer[Any]):
    """The code that a supervisor showed, and what to call this phone."""

    code = serializers.CharField(max_length=40)
    name = serializers.CharField(max_length=80)


class EnrolmentAnswer(serializers.Serializer[Any]):
    """The new device and its token, shown this once."""

    device = DeviceAnswer(read_only=True)
    token = serializers.CharField(read_only=True)


class CodeWish(serializers.Serializer[Any]):
    """For whose phone, on which site."""

    site = serializers.UUIDField()
    person = serializers.UUIDField()


class CodeAnswer(serializers.Serializer[Any]):
    """A code that enrols one phone, once."""

    code = serializers.CharField(read_only=True)
    expires_at = Moment(read_only=True)


class EnrolThrottle(AnonRateThrottle):
    """Slows down guessing of codes; while the cache is away nobody is turned away, for a code has 30^10 faces."""

    rate = "20/min"

    def allow_request(self, request: Request, view: APIView) -> bool:
        try:
            return bool(super().allow_request(request, view))
        except RedisError:
            return True


class EnrolView(ApiView):
    """A phone without a token asks for one."""

    authentication_classes = []
    permission_classes = [AllowAny]
    throttle_classes = [EnrolThrottle]
    most_body_bytes = 2000

    @extend_schema(
        operation_id="devices_enrol",
        summary="Enroll a phone with a code",
        request=Enrolment,
        responses={201: EnrolmentAnswer},
        tags=["devices"],
        examples=[OpenApiExample("a phone", {"code": "7KQ2M9XWTB", "name": "Blue phone"}, request_only=True)],
    )
    def post(self, request: Request) -> Response:
        """The code is good once, for 15 minutes. The token is shown now and never again."""
        asked = Enrolment(data=request.data)
        asked.is_valid(raise_exception=True)
        device, token = enrol_device(**asked.validated_data, now=now())
        return Response({"device": DeviceAnswer(device).data, "token": token}, status=201, headers=NO_STORE)


class CodeView(ApiView):
    """A supervisor lets a person's phone in."""

    most_body_bytes = 2000

    @extend_schema(
        operation_id="devices_codes",
        summary="Make an enrolment code for a person",
        request=CodeWish,
        responses={201: CodeAnswer},
        tags=["devices"],
    )
    def post(self, request: Request) -> Response:
        """For supervisors of the site, signed in at a browser."""
        asked = CodeWish(data=request.data)
        asked.is_valid(raise_exception=True)
        site_id, person_id = asked.validated_data["site"], asked.validated_data["person"]
        if request.auth is not None:
            # A token that could make codes would outlive its own revocation.
            raise Forbidden("Codes are made signed in at a browser, not with a token.")
        who, moment = asking(request), now()
        must(who, site_id, Right.MANAGE_PHONES)  # before whether the person exists there is told
        code = make_enrolment_code(site_id=site_id, person=_person_on(site_id, person_id), who=who, now=moment)
        answer = {"code": code, "expires_at": moment + CODE_LIFE}
        return Response(CodeAnswer(answer).data, status=201, headers=NO_STORE)


@extend_schema_view(
    list=extend_schema(summary="Devices", description="A supervisor sees the site's, everyone else their own."),
    retrieve=extend_schema(summary="One device"),
)
class DeviceViewSet(ScopedViewSet):
    """Phones and programs that send check-ins."""

    queryset = DeviceQuerySet(Device).all()
    serializer_class = DeviceAnswer
    filterset_class = DeviceFilter
    ordering_fields = ("id", "enrolled_at")

    @extend_schema(operation_id="devices_revoke", summary="Stop a device's token", request=None, responses=DeviceAnswer)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, **kwargs: Any) -> Response:
        """For supervisors of the site. What the device sent stays; again changes nothing."""
        device = self.get_object()
        return self.answer(revoke_device(device=device, who=asking(request), now=now()))


def _person_on(site_id: Any, person_id: Any) -> Person:
    standing = Membership.objects.select_related("person").filter(site=site_id, person=person_id, ended_at=None).first()
    if standing is None:
        raise BadInput(
            "person: this person has no role on the site; give them one first.",
            errors=[FieldError("person", "no role on the site", read=str(person_id), expected="someone of the site")],
        )
    return standing.person
