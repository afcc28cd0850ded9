"""Addresses of the desk."""

from django.urls import include, path

from sitetrack.desk import (
    drift_pages,
    entrance,
    evidence_pages,
    key_pages,
    kit_pages,
    progress_pages,
    reading_table_pages,
    today_pages,
    tolerances_pages,
    weekly_pages,
)

app_name = "desk"
urlpatterns = [
    path("", entrance.sites, name="sites"),
    path("keys", key_pages.keys, name="keys"),
    path("sign-in", entrance.SignIn.as_view(), name="sign-in"),
    path("sign-out", entrance.SignOut.as_view(), name="sign-out"),
    path("s/<slug:code>/today", today_pages.today, name="today"),
    path("s/<slug:code>/today/seen", today_pages.seen, name="seen"),
    path("s/<slug:code>/today/unseen", today_pages.unseen, name="unseen"),
    path("", include("sitetrack.desk.floor_urls")),
    path("readings", reading_table_pages.readings, name="readings"),
    path("s/<slug:code>/readings", reading_table_pages.site_readings, name="site-readings"),
    path("s/<slug:code>/kit", kit_pages.kit, name="kit"),
    path("s/<slug:code>/kit.csv", kit_pages.kit_csv, name="kit-csv"),
    path("s/<slug:code>/drift", drift_pages.drift, name="drift"),
    path("s/<slug:code>/tolerances", tolerances_pages.tolerances, name="tolerances"),
    path("", include("sitetrack.desk.schedule_urls")),
    path("", include("sitetrack.desk.account_urls")),
    path("", include("sitetrack.desk.opening_urls")),
    path("", include("sitetrack.desk.alert_urls")),
    path("s/<slug:code>/progress", progress_pages.progress, name="progress"),
    path("s/<slug:code>/progress/again", progress_pages.forecast_again, name="forecast-again"),
    path("s/<slug:code>/weekly", weekly_pages.weekly, name="weekly"),
    path("s/<slug:code>/weekly/<str:week>/issue", weekly_pages.issue, name="weekly-issue"),
    path("s/<slug:code>/evidence", evidence_pages.evidence, name="evidence"),
]
