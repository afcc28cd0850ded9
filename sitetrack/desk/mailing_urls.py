"""Addresses of the mailing list; within those of the set-up."""

from django.urls import path

from sitetrack.desk import mailing_pages

urlpatterns = [
    path("s/<slug:code>/mailing", mailing_pages.mailing, name="mailing"),
    path("s/<slug:code>/mailing/restore", mailing_pages.restore, name="mailing-restore"),
    path("s/<slug:code>/mailing/<int:reader_id>/remove", mailing_pages.remove, name="mailing-remove"),
]
