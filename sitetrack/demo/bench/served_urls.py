"""The project's addresses, and the plain ones they are measured beside."""

from django.urls import path

from sitetrack.demo.bench.plain_views import AllAtOnce, OneByOne
from sitetrack.urls import urlpatterns as own

urlpatterns = [*own, path("bench/one-by-one", OneByOne.as_view()), path("bench/all-at-once", AllAtOnce.as_view())]
