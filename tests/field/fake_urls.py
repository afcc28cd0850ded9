"""The phone pages as they are, and the sync contract by the fake server."""

from django.urls import include, path

from tests.field import fake_server

urlpatterns = [
    path("field/", include("sitetrack.field.urls")),
    path("api/v1/devices/enrol", fake_server.enrol),
    path("api/v1/sync/push", fake_server.push),
    path("api/v1/sync/pull", fake_server.pull),
    path("api/v1/photos/<str:sha>", fake_server.photo),
]
