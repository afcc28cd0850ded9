"""Addresses of the audit trail; part of the set-up's."""

from django.urls import path

from sitetrack.desk import change_pages

urlpatterns = [
    path("s/<slug:code>/changes", change_pages.changes, name="changes"),
    path("s/<slug:code>/changes.csv", change_pages.changes_csv, name="changes-csv"),
]
