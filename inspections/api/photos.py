"""Photos over the API: sent and fetched by the digest of their bytes, listed by the check-ins that name them."""

from typing import Any

import django_filters
from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.throttles import OwnRate
from inspections.models import CheckInPhoto, Photo
from inspections.selectors.photos import named_photos, visible_photo
from inspections.services.photos import MOST_BYTES, keep_photo, read_photo
from sitetrack.access.api.asking import asking, device_of
from sitetrack.kit.api import ApiView, ScopedList
from sitetrack.kit.clock import now
from sitetrack.kit.filters import YesNoFilter
from sitetrack.kit.problems import TooLarge
from sitetrack.kit.quick_json import QuickJSONRenderer
from sitetrack.kit.shapes import AnswerSerializer

DIGEST = OpenApiParameter(
    "digest",
    {"type": "string", "pattern": "^[0-9a-f]{64}$"},
    OpenApiParameter.PATH,
    description="SHA-256 of the photo's bytes as sent, in lower case.",
)
HEADERS = {
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Content-Disposition": "inline",
}


class JpegParser(BaseParser):
    """A photo as the bare body."""

    media_type = "image/jpeg"

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        content: bytes = stream.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            raise TooLarge(f"The photo has more than {MOST_BYTES:,} bytes. Make it smaller and send it again.")
        return content


class PngParser(JpegParser):
    media_type = "image/png"


class WebpParser(JpegParser):
    media_type = "image/webp"


class PlainRenderer(QuickJSONRenderer):
    """A picture as it is, anything else as JSON: a refusal has to be readable whatever was asked for."""

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> bytes:
        if isinstance(data, bytes):
            return data
        rendered: bytes = super().render(data, accepted_media_type, renderer_context)
        return rendered


class PictureRenderer(PlainRenderer):
    media_type = "image/jpeg"


class PhotoAnswer(AnswerSerializer):
    """A photo that has come; width, height and size are of the picture as kept."""

    class Meta:
        model = Photo
        fields = ["digest", "received_at", "width", "height", "size"]


class PhotoView(ApiView):
    """One photo, at the digest of its bytes."""

    parser_classes = [JpegParser, PngParser, WebpParser]
    renderer_classes = [PlainRenderer, PictureRenderer]
    throttle_classes = [OwnRate]

    @extend_schema(
        operation_id="photos_fetch",
        summary="Fetch a photo",
        parameters=[DIGEST],
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
        tags=["photos"],
    )
    def get(self, request: Request, digest: str) -> Response:
        """For whoever may see a check-in that names it. It was drawn anew: its bytes have another digest."""
        device = device_of(request)
        photo = visible_photo(digest, asking(request), device.site_id if device else None)
        if photo is None:
            raise Http404
        try:
            content = read_photo(digest)
        except OSError:
            raise Http404 from None
        return Response(content, content_type="image/jpeg", headers=HEADERS | {"ETag": f'"{digest}"'})

    @extend_schema(
        operation_id="photos_send",
        summary="Send a photo",
        parameters=[DIGEST],
        request={
            "image/jpeg": OpenApiTypes.BINARY,
            "image/png": OpenApiTypes.BINARY,
            "image/webp": OpenApiTypes.BINARY,
        },
        responses={200: PhotoAnswer, 201: PhotoAnswer},
        tags=["photos"],
    )
    def put(self, request: Request, digest: str) -> Response:
        """Before or after its check-in, as often as it takes. Kept upright and without the place it was taken at."""
        if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_BYTES:
            raise TooLarge(f"The photo has more than {MOST_BYTES:,} bytes. Make it smaller and send it again.")
        content = request.data if isinstance(request.data, bytes) else b""
        photo, new = keep_photo(digest=digest, content=content, who=asking(request), now=now())
        return Response(PhotoAnswer(photo).data, status=201 if new else 200)


class NamedPhotoAnswer(AnswerSerializer):
    """A photo that a check-in names. Until it has `arrived` the check-in stands without it."""

    opening = serializers.UUIDField(source="check_in.opening_id", read_only=True)
    number = serializers.CharField(source="check_in.opening.number", read_only=True)
    stage = serializers.CharField(source="check_in.stage", read_only=True)
    arrived = serializers.BooleanField(read_only=True)

    class Meta:
        model = CheckInPhoto
        fields = ["id", "digest", "arrived", "check_in", "opening", "number", "stage", "site", "company"]


class NamedPhotoFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    company = django_filters.UUIDFilter(field_name="company_id")
    check_in = django_filters.UUIDFilter(field_name="check_in_id")
    opening = django_filters.UUIDFilter(field_name="check_in__opening_id")
    digest = django_filters.CharFilter()
    arrived = YesNoFilter()

    class Meta:
        model = CheckInPhoto
        fields: list[str] = []


@extend_schema_view(
    list=extend_schema(summary="Photos by check-in", description="`?arrived=false`: what is named and has not come."),
)
class NamedPhotoViewSet(ScopedList):
    """Photos that check-ins name. A crew sees its own company's."""

    queryset = named_photos().select_related("check_in__opening")
    serializer_class = NamedPhotoAnswer
    filterset_class = NamedPhotoFilter
    ordering_fields = ("id",)
