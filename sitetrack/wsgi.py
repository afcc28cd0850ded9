"""Entry point for web servers."""

import gc
import os
from importlib import import_module

from django.conf import settings
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sitetrack.settings")
application = get_wsgi_application()
import_module(settings.ROOT_URLCONF)  # every page's code is read now, not while the first phone waits for its answer
# What is loaded now stays; the collector need not look through it again and again, a tenth of a second each time.
gc.collect()
gc.freeze()
