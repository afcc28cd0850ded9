"""Celery application: `celery -A sitetrack worker -B` when REDIS_URL is set; in-process otherwise."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sitetrack.settings")
app = Celery("sitetrack")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
