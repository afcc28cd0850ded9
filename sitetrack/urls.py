"""Addresses: pages at the root, the API under /api/v1/."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
]
