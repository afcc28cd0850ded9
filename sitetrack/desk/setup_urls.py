"""Addresses of the set-up."""

from django.urls import path

from sitetrack.desk import kept_aside_pages, phone_pages, signing_code_pages

app_name = "setup"
urlpatterns = [
    path("signing-code", signing_code_pages.signing_code, name="signing-code"),
    path("s/<slug:code>/phones", phone_pages.phones, name="phones"),
    path("s/<slug:code>/phones/code", phone_pages.make_code, name="phone-code"),
    path("s/<slug:code>/phones/<uuid:device_id>/stop", phone_pages.revoke, name="phone-stop"),
    path("s/<slug:code>/kept-aside", kept_aside_pages.kept_aside, name="kept-aside"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/place", kept_aside_pages.place, name="kept-aside-place"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/discard", kept_aside_pages.discard, name="kept-aside-discard"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/restore", kept_aside_pages.restore, name="kept-aside-restore"),
]
