"""The project's addresses, and the plain ones they are measured beside."""

from django.urls import include, path

from sitetrack.demo.bench.plain_views import AllAtOnce, OneByOne

urlpatterns = [
    path("", include("sitetrack.urls")),
    path("bench/one-by-one", OneByOne.as_view()),
    path("bench/all-at-once", AllAtOnce.as_view()),
]
