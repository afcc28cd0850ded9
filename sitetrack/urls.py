"""Addresses: the desk's pages at the root, the phone's under /field/, the API under /api/v1/."""

from django.contrib import admin
from django.urls import include, path

from sitetrack.desk.entrance import admin_door

urlpatterns = [
    path("", include("sitetrack.desk.urls")),
    path("", include("sitetrack.reports.urls")),
    path("", include("sitetrack.desk.setup_urls")),
    path("", include("sitetrack.field.label_urls")),
    path("field/", include("sitetrack.field.urls")),
    path("api/v1/", include("sitetrack.api_urls")),
    path("admin/login/", admin_door, name="admin-door"),
    path("admin/", admin.site.urls),
]

handler400 = "sitetrack.desk.faults.not_understood"
handler403 = "sitetrack.desk.faults.not_yours"
handler404 = "sitetrack.desk.faults.nothing_here"
handler500 = "sitetrack.desk.faults.broken"
