"""Addresses of webhooks; within those of the set-up."""

from django.urls import path

from sitetrack.desk import webhook_pages

urlpatterns = [
    path("s/<slug:code>/webhooks", webhook_pages.webhooks, name="webhooks"),
    path("s/<slug:code>/webhooks/<uuid:webhook_id>/secret", webhook_pages.new_secret, name="webhook-secret"),
    path("s/<slug:code>/webhooks/<uuid:webhook_id>/stop", webhook_pages.stop, name="webhook-stop"),
    path("s/<slug:code>/webhooks/<uuid:webhook_id>/test", webhook_pages.test, name="webhook-test"),
    path("s/<slug:code>/webhooks/messages/<uuid:message_id>/again", webhook_pages.again, name="webhook-again"),
]
