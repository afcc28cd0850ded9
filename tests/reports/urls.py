"""The addresses that these tests need, whatever else the project serves."""

from django.http import HttpResponse
from django.urls import include, path

urlpatterns = [
    path("", include("sitetrack.reports.urls")),
    path("", include(([path("sign-in", lambda _: HttpResponse(), name="sign-in")], "desk"))),
]
