"""Addresses of the labels."""

from django.urls import path

from sitetrack.field import label_pages

app_name = "labels"
urlpatterns = [
    path("s/<slug:code>/labels", label_pages.choose_labels, name="choose"),
    path("s/<slug:code>/labels.pdf", label_pages.print_labels, name="print"),
]
