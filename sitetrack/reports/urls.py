"""Addresses of the weekly status."""

from django.urls import path

from sitetrack.reports.evidence_views import evidence
from sitetrack.reports.making import Format
from sitetrack.reports.views import weekly_file

app_name = "reports"
urlpatterns = [
    path("s/<slug:code>/weekly/<str:week>.xlsx", weekly_file, {"form": Format.XLSX}, name="weekly-xlsx"),
    path("s/<slug:code>/weekly/<str:week>.zip", weekly_file, {"form": Format.ZIP}, name="weekly-csv"),
    path("s/<slug:code>/weekly/<str:week>.json", weekly_file, {"form": Format.JSON}, name="weekly-json"),
    path("s/<slug:code>/evidence.pdf", evidence, {"form": "pdf"}, name="evidence-pdf"),
    path("s/<slug:code>/evidence.json", evidence, {"form": "json"}, name="evidence-json"),
]
