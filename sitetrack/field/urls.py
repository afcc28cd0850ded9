"""Addresses of the phone pages: one page, what makes it installable, and the worker that keeps it offline."""

from django.urls import path

from sitetrack.field import views

app_name = "field"
urlpatterns = [
    path("", views.page, name="app"),
    path("worker.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
]
