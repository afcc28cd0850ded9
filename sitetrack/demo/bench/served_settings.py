"""Settings of the server that is measured: the project's own, its data base given, its addresses beside the plain ones.

Throttles would measure themselves, so they count nobody. Jobs are left to the sweep, so that a push is measured
alone; the folding is measured beside it.
"""

import json
import os

from sitetrack.settings import *  # noqa: F403
from sitetrack.settings import DATABASES

DATABASES["default"] |= json.loads(os.environ["BENCH_DATABASE"])
ROOT_URLCONF = "sitetrack.demo.bench.served_urls"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}}
CELERY_TASK_ALWAYS_EAGER = False
CELERY_BROKER_URL = "memory://localhost/"
ALLOWED_HOSTS = ["127.0.0.1"]
