"""Addresses under /api/v1/."""

from csp.decorators import csp_update
from django.http import HttpRequest, JsonResponse
from django.urls import path, re_path
from django.views.decorators.csrf import csrf_exempt
from drf_spectacular.views import SpectacularJSONAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import DefaultRouter

import sitetrack.access.schema  # noqa: F401 - being imported is how it tells the document of tokens
from inspections.api.alerts import AlertViewSet
from inspections.api.calculation_shapes import CALCULATIONS
from inspections.api.calculations import CalculationView
from inspections.api.check_ins import CheckInViewSet
from inspections.api.checks import FrameCheckViewSet, SignOffViewSet
from inspections.api.holds import HoldViewSet
from inspections.api.kept_aside import KeptAsideViewSet
from inspections.api.mutes import MuteViewSet
from inspections.api.openings import OpeningViewSet
from inspections.api.photos import NamedPhotoViewSet, PhotoView
from inspections.api.profiles import ProfileViewSet
from inspections.api.pull import PullView
from inspections.api.push import PushView
from inspections.api.stages import StageViewSet
from inspections.api.webhooks import WebhookMessageViewSet, WebhookViewSet
from openings.api.places import BuildingViewSet, FloorViewSet
from openings.api.sites import SiteViewSet
from sitetrack.access.api.devices import CodeView, DeviceViewSet, EnrolView
from sitetrack.access.api.me import MeView
from sitetrack.kit.answers import plain_problem
from sitetrack.reports.api import ReportViewSet
from sitetrack.reports.forecast_api import ForecastViewSet

app_name = "api"

RESOURCES = {
    "sites": SiteViewSet,
    "buildings": BuildingViewSet,
    "floors": FloorViewSet,
    "openings": OpeningViewSet,
    "stages": StageViewSet,
    "check-ins": CheckInViewSet,
    "frame-checks": FrameCheckViewSet,
    "profiles": ProfileViewSet,
    "sign-offs": SignOffViewSet,
    "holds": HoldViewSet,
    "alerts": AlertViewSet,
    "mutes": MuteViewSet,
    "kept-aside": KeptAsideViewSet,
    "photos": NamedPhotoViewSet,
    "reports": ReportViewSet,
    "forecasts": ForecastViewSet,
    "devices": DeviceViewSet,
    "webhooks": WebhookViewSet,
    "webhook-messages": WebhookMessageViewSet,
}


class ResourceRouter(DefaultRouter):
    """Resources without a slash at the end and without format suffixes: one address for one thing."""

    include_format_suffixes = False


DOCS = SpectacularSwaggerSplitView.as_view(url_name="api:schema", template_name="desk/api_docs.html")


@csrf_exempt  # it changes nothing; else whoever posts there would be answered with the page about old forms
def unknown_address(request: HttpRequest) -> JsonResponse:
    """What answers where nothing else does."""
    return plain_problem(
        request, 404, "not-found", f"There is no {request.path} here. /api/v1/schema lists every address."
    )


router = ResourceRouter(trailing_slash=False)
for name, viewset in RESOURCES.items():
    router.register(name, viewset, basename=name)

urlpatterns = [
    path("devices/enrol", EnrolView.as_view(), name="enrol"),
    path("devices/codes", CodeView.as_view(), name="codes"),
    path("me", MeView.as_view(), name="me"),
    path("sync/push", PushView.as_view(), name="push"),
    path("sync/pull", PullView.as_view(), name="pull"),
    re_path(r"^photos/(?P<digest>[0-9a-f]{64})$", PhotoView.as_view(), name="photo"),
    *(
        path(f"calculations/{each.name}", CalculationView.as_view(calculation=each), name=f"calculate-{each.name}")
        for each in CALCULATIONS
    ),
    path("schema", SpectacularJSONAPIView.as_view(), name="schema"),
    # Its library draws its icons from data: addresses.
    path("docs", csp_update({"img-src": ["data:"]})(DOCS), name="docs"),
    *router.urls,
    re_path(r"", unknown_address),
]
