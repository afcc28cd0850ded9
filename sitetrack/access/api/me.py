"""Who is asking, and what they are where."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from sitetrack.access.api.asking import asking, device_of
from sitetrack.access.api.devices import DeviceAnswer
from sitetrack.access.models import Membership, Person
from sitetrack.kit.api import ApiView
from sitetrack.kit.shapes import AnswerSerializer

MOST_ROLES = 500


class RoleAnswer(AnswerSerializer):
    """What the person is on one site, for which company, with which trades."""

    site_code = serializers.CharField(source="site.code", read_only=True)
    company_name = serializers.CharField(source="company.name", read_only=True)

    class Meta:
        model = Membership
        fields = ["site", "site_code", "company", "company_name", "role", "trades", "began_at"]


class PersonAnswer(AnswerSerializer):
    class Meta:
        model = Person
        fields = ["id", "name", "email", "language"]


class MeAnswer(serializers.Serializer[Any]):
    """The person asking; `device` is null unless a token was used."""

    person = PersonAnswer(read_only=True)
    roles = RoleAnswer(many=True, read_only=True)
    device = DeviceAnswer(read_only=True, allow_null=True)


class MeView(ApiView):
    """Who the server takes you for."""

    @extend_schema(operation_id="me", summary="Who is asking", responses=MeAnswer, tags=["me"])
    def get(self, request: Request) -> Response:
        """The person signed in, or whose token this is, with a role on each site."""
        person, device = asking(request), device_of(request)
        roles = Membership.objects.filter(person=person, ended_at=None).select_related("site", "company")
        if device:
            roles = roles.filter(site=device.site_id)
        answer = {"person": person, "roles": roles[:MOST_ROLES], "device": device}
        return Response(MeAnswer(answer).data)
