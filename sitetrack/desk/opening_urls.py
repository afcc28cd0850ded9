"""Addresses of the opening's sheet and what hangs on it; within those of the desk.

A number may hold a stroke, as in 101A/B, so what stands behind a number comes before the number alone.
"""

from django.urls import path

from sitetrack.desk import find_pages, opening_pages, photo_pages, reading_table_pages, takeoff_pages

urlpatterns = [
    path("s/<slug:code>/find", find_pages.find, name="find"),
    path("s/<slug:code>/check-ins/<uuid:check_in_id>/undo", opening_pages.undo, name="check-in-undo"),
    path("s/<slug:code>/photos/<slug:digest>", photo_pages.photo, name="photo"),
    path("s/<slug:code>/photos/<slug:digest>/small", photo_pages.small, name="photo-small"),
    path("s/<slug:code>/photos/<slug:digest>/full", photo_pages.full, name="photo-full"),
    path("s/<slug:code>/openings/<path:number>/takeoff", takeoff_pages.takeoff, name="takeoff"),
    path(
        "s/<slug:code>/openings/<path:number>/readings", reading_table_pages.opening_readings, name="opening-readings"
    ),
    path("s/<slug:code>/openings/<path:number>", opening_pages.opening, name="opening"),
]
