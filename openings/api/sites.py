"""Sites over the API."""

from uuid import UUID

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.request import Request

from openings.models import Site
from sitetrack.access.api.asking import asking
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.problems import NotFound
from sitetrack.kit.shapes import AnswerSerializer


class SiteAnswer(AnswerSerializer):
    class Meta:
        model = Site
        fields = [
            "id", "code", "name", "time_zone", "units", "language", "report_weekday", "report_hour",
            "hold_limit_days", "signer_differs_from_reader", "starts_on", "ends_on", "contact",
        ]  # fmt: skip


class SiteFilter(django_filters.FilterSet):
    code = django_filters.CharFilter(lookup_expr="iexact")

    class Meta:
        model = Site
        fields: list[str] = []


@extend_schema_view(list=extend_schema(summary="Sites you have a role on"), retrieve=extend_schema(summary="One site"))
class SiteViewSet(ScopedViewSet):
    """The jobs a person works on."""

    queryset = Site.objects.all()
    serializer_class = SiteAnswer
    filterset_class = SiteFilter
    ordering_fields = ("id", "code")


def site_asked(request: Request, site_id: UUID) -> Site:
    """The site that a request's body names, if whoever asks may see it; raises `NotFound`."""
    sites = Site.objects.visible_to(asking(request)).filter(pk=site_id)
    if (own := getattr(request.auth, "site_id", None)) is not None:
        sites = sites.filter(pk=own)  # a phone's token opens its own site only
    site: Site | None = sites.first()
    if site is None:
        raise NotFound("No site by that id that you may see.")
    return site
