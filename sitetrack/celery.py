"""Celery application: `celery -A sitetrack worker -B` when REDIS_URL is set; in-process otherwise."""

import os

from celery import Celery
from celery.signals import worker_process_init

from sitetrack.kit.collector import settle_collector

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sitetrack.settings")
app = Celery("sitetrack")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@worker_process_init.connect
def _settle(**_told: object) -> None:
    settle_collector()
