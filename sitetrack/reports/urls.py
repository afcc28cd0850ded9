"""Addresses of the weekly status."""

from django.urls import path

from sitetrack.reports.evidence_views import evidence, offline_script
from sitetrack.reports.handover.views import calendar, components, make_calendar_key
from sitetrack.reports.making import Format
from sitetrack.reports.views import made, weekly_file

app_name = "reports"
urlpatterns = [
    path("s/<slug:code>/weekly/<str:week>.xlsx", weekly_file, {"form": Format.XLSX}, name="weekly-xlsx"),
    path("s/<slug:code>/weekly/<str:week>.zip", weekly_file, {"form": Format.ZIP}, name="weekly-csv"),
    path("s/<slug:code>/weekly/<str:week>.json", weekly_file, {"form": Format.JSON}, name="weekly-json"),
    path("s/<slug:code>/weekly/<str:week>.letter.pdf", weekly_file, {"form": Format.LETTER}, name="weekly-letter"),
    path("s/<slug:code>/weekly/<str:week>.a4.pdf", weekly_file, {"form": Format.A4}, name="weekly-a4"),
    path("s/<slug:code>/weekly/<str:week>.pdf", weekly_file, {"form": Format.PDF}, name="weekly-pdf"),
    path("reports/made/<str:token>", made, name="made"),
    path("s/<slug:code>/components.xlsx", components, {"form": "xlsx"}, name="components"),
    path("s/<slug:code>/components.csv", components, {"form": "csv"}, name="components-csv"),
    path("s/<slug:code>/calendar", make_calendar_key, name="calendar-key"),
    path("calendar/<str:key>.ics", calendar, name="calendar"),
    path("evidence/offline_verify.py", offline_script, name="offline-verify"),
    path("s/<slug:code>/evidence.pdf", evidence, {"form": "pdf"}, name="evidence-pdf"),
    path("s/<slug:code>/evidence.json", evidence, {"form": "json"}, name="evidence-json"),
]
