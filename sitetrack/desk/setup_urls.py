"""Addresses of the set-up."""

from django.urls import include, path

from sitetrack.desk import (
    ground_pages,
    kept_aside_pages,
    phone_pages,
    plan_pages,
    plan_preview_pages,
    signing_code_pages,
    site_pages,
)

app_name = "setup"
urlpatterns = [
    path("", include("sitetrack.desk.webhook_urls")),
    path("", include("sitetrack.desk.mailing_urls")),
    path("", include("sitetrack.desk.change_urls")),
    path("", include("sitetrack.desk.company_urls")),
    path("", include("sitetrack.desk.people_urls")),
    path("signing-code", signing_code_pages.signing_code, name="signing-code"),
    path("s/<slug:code>/phones", phone_pages.phones, name="phones"),
    path("s/<slug:code>/phones/code", phone_pages.make_code, name="phone-code"),
    path("s/<slug:code>/phones/<uuid:device_id>/stop", phone_pages.revoke, name="phone-stop"),
    path("s/<slug:code>/kept-aside", kept_aside_pages.kept_aside, name="kept-aside"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/place", kept_aside_pages.place, name="kept-aside-place"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/discard", kept_aside_pages.discard, name="kept-aside-discard"),
    path("s/<slug:code>/kept-aside/<uuid:item_id>/restore", kept_aside_pages.restore, name="kept-aside-restore"),
    path("s/<slug:code>/places", ground_pages.places, name="places"),
    path("s/<slug:code>/places/new", ground_pages.building, name="building-new"),
    path("s/<slug:code>/places/<uuid:building_id>", ground_pages.building, name="building"),
    path("s/<slug:code>/places/<uuid:building_id>/floors/new", ground_pages.floor, name="floor-new"),
    path("s/<slug:code>/places/<uuid:building_id>/floors/<uuid:floor_id>", ground_pages.floor, name="floor"),
    path("s/<slug:code>/places/<slug:kind>/<uuid:row_id>/remove", ground_pages.remove, name="place-remove"),
    path("sites/new", site_pages.new_site, name="new-site"),
    path("s/<slug:code>/site", site_pages.site, name="site"),
    path("s/<slug:code>/plans", plan_pages.plans, name="plans"),
    path("s/<slug:code>/plans/<slug:plan_code>", plan_pages.plan, name="plan"),
    path("s/<slug:code>/plans/<slug:plan_code>/begin", plan_pages.begin, name="plan-begin"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft", plan_pages.draft, name="plan-draft"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/remove", plan_pages.remove, name="plan-remove"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/undo", plan_pages.take_back, name="plan-undo"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/drop", plan_pages.drop, name="plan-drop"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/restore", plan_pages.restore, name="plan-restore"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/preview", plan_preview_pages.preview, name="plan-preview"),
    path("s/<slug:code>/plans/<slug:plan_code>/draft/install", plan_preview_pages.install_drawn, name="plan-install"),
]
