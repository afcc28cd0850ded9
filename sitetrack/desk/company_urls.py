"""Addresses of a site's companies; part of the set-up's."""

from django.urls import path

from sitetrack.desk import company_pages

urlpatterns = [
    path("s/<slug:code>/companies", company_pages.companies, name="companies"),
    path("s/<slug:code>/companies/new", company_pages.add, name="company-new"),
    path("s/<slug:code>/companies/<uuid:company_id>", company_pages.change, name="company"),
    path("s/<slug:code>/companies/<uuid:company_id>/remove", company_pages.remove, name="company-remove"),
]
