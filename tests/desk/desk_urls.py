"""The desk alone, at the root, for its own tests."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [path("admin/", admin.site.urls), path("", include("sitetrack.desk.urls"))]
