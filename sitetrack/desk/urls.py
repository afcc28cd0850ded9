"""Addresses of the desk."""

from django.urls import include, path

from sitetrack.desk import (
    alert_pages,
    drift_pages,
    entrance,
    floor_pages,
    key_pages,
    kit_pages,
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
    path("s/<slug:code>/floors", floor_pages.floors, name="floors"),
    path("s/<slug:code>/floors/<uuid:floor_id>", floor_pages.floor, name="floor"),
    path("readings", reading_table_pages.readings, name="readings"),
    path("s/<slug:code>/readings", reading_table_pages.site_readings, name="site-readings"),
    path("s/<slug:code>/kit", kit_pages.kit, name="kit"),
    path("s/<slug:code>/kit.csv", kit_pages.kit_csv, name="kit-csv"),
    path("s/<slug:code>/drift", drift_pages.drift, name="drift"),
    path("s/<slug:code>/tolerances", tolerances_pages.tolerances, name="tolerances"),
    path("", include("sitetrack.desk.schedule_urls")),
    path("", include("sitetrack.desk.opening_urls")),
    path("s/<slug:code>/alerts", alert_pages.alerts, name="alerts"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/acknowledge", alert_pages.acknowledge_alert, name="acknowledge"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/unacknowledge", alert_pages.unacknowledge_alert, name="unacknowledge"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/close", alert_pages.close_alert, name="close"),
    path("s/<slug:code>/alerts/<uuid:alert_id>/reopen", alert_pages.reopen_alert, name="reopen"),
    path("s/<slug:code>/weekly", weekly_pages.weekly, name="weekly"),
]
