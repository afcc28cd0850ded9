"""What every address of the API shares: scope, bounds, tags of versions, and its description."""

import hashlib
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django.utils.http import parse_etags
from django_filters import FilterSet
from rest_framework.mixins import ListModelMixin, RetrieveModelMixin
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from sitetrack.kit.paging import PARAMETERS
from sitetrack.kit.parsing import BoundedJSONParser
from sitetrack.kit.problems import BadInput, FieldError, Precondition, PreconditionRequired
from sitetrack.kit.schema import ProblemSchema


class ApiView(APIView):
    """An address that is no list: one operation or a few."""

    parser_classes = [BoundedJSONParser]
    schema = ProblemSchema()


class ScopedList(ListModelMixin, GenericViewSet[Any]):
    """A list of what the asking person may see; a phone's token opens its own site only.

    `queryset` is of a model whose query set has `visible_to(person)` and `site_path`.
    """

    parser_classes = [BoundedJSONParser]
    schema = ProblemSchema()
    filterset_class: type[FilterSet]
    ordering_fields: tuple[str, ...] = ("id",)

    def get_queryset(self) -> QuerySet[Any]:
        """The one place of the API that decides which rows a request may reach."""
        if getattr(self, "swagger_fake_view", False):
            return super().get_queryset().none()
        rows: Any = super().get_queryset()
        site = getattr(self.request.auth, "site_id", None)
        if site is not None:
            rows = rows.filter(**{rows.site_path: site})
        return rows.visible_to(self.request.user)

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        self._refuse_unknown_parameters(request)
        return super().list(request, *args, **kwargs)

    def _refuse_unknown_parameters(self, request: Request) -> None:
        # A misspelt filter that is passed over in silence answers with everything, which reads as an answer.
        known = set(self.filterset_class.base_filters) | PARAMETERS
        unknown = [name for name in request.query_params if name not in known]
        if unknown:
            expected = "one of " + ", ".join(sorted(known))
            raise BadInput(
                f"{unknown[0]}: no such filter here; expected {expected}.",
                errors=[FieldError(name[:80], "no such filter here", expected=expected) for name in unknown[:10]],
            )


class ScopedViewSet(RetrieveModelMixin, ScopedList):
    """The same with single objects, each with an ETag of what was answered."""

    lookup_url_kwarg = "id"

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        data = self.get_serializer(self.get_object()).data
        tag = etag_of(data)
        asked = parse_etags(request.headers.get("If-None-Match", ""))
        if "*" in asked or tag in {_strong(given) for given in asked}:
            return Response(status=304, headers=_tagged(tag))
        return Response(data, headers=_tagged(tag))

    def answer(self, row: Any) -> Response:
        """One object after a change, with its new tag."""
        data = self.get_serializer(row).data
        return Response(data, headers=_tagged(etag_of(data)))

    def check_match(self, row: Any, *, required: bool) -> None:
        """Hold a change to what was read: raises 412 when the object changed since, 428 when that was not said."""
        header = self.request.headers.get("If-Match", "")
        if not header:
            if required:
                raise PreconditionRequired("Send If-Match with the ETag you read, so that no one's change is lost.")
            return
        asked = parse_etags(header)
        if "*" not in asked and etag_of(self.get_serializer(row).data) not in {_strong(given) for given in asked}:
            raise Precondition("This was changed since you read it. Read it again, then change what still needs it.")

    def get_object(self) -> Any:
        try:
            return super().get_object()
        except (ValueError, OverflowError):
            raise Http404 from None


def etag_of(data: Any) -> str:
    """A strong ETag (RFC 9110, 8.8.3) of an answer: it differs whenever the answer does."""
    return f'"{hashlib.sha256(JSONRenderer().render(data)).hexdigest()[:32]}"'


def _strong(tag: str) -> str:
    # Compressing an answer makes its tag weak on the way out; the content it stands for is the same.
    return tag.removeprefix("W/")


def _tagged(tag: str) -> dict[str, str]:
    return {"ETag": tag, "Cache-Control": "private, no-cache"}
