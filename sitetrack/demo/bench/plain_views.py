"""What the push is measured beside: an endpoint as the REST framework's own serializer makes it, which only stores.

No fold, no verdict, no seal, no sites that one may not see. For measuring only: reached from the bench's own URLs.
"""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inspections.models import CheckIn


class Row(serializers.ModelSerializer[CheckIn]):
    """Every column of a check-in, validated as the framework does it."""

    id = serializers.UUIDField()

    class Meta:
        model = CheckIn
        fields = "__all__"
        # The framework would ask the data base for every row's number; the constraint holds without that.
        validators: list[Any] = []


class OneByOne(APIView):
    """Each item of the list validated and saved by itself."""

    def post(self, request: Request) -> Response:
        for item in request.data:
            row = Row(data=item)
            row.is_valid(raise_exception=True)
            row.save()
        return Response({"stored": len(request.data)})


class AllAtOnce(APIView):
    """The items validated by the same serializer and stored by one bulk_create.

    Foreign keys are taken as given, since asking the data base for each would be most of the time.
    """

    def post(self, request: Request) -> Response:
        rows = Bulk(data=request.data, many=True)
        rows.is_valid(raise_exception=True)
        CheckIn.objects.bulk_create(CheckIn(**row) for row in rows.validated_data)
        return Response({"stored": len(request.data)})


class Bulk(Row):
    """The same with keys of other tables as keys."""

    site_id = serializers.UUIDField()
    person_id = serializers.UUIDField()
    company_id = serializers.UUIDField()
    opening_id = serializers.UUIDField()

    class Meta:
        model = CheckIn
        validators: list[Any] = []
        exclude = ("site", "person", "company", "opening", "device")
