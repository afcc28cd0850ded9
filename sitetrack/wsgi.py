"""Entry point for web servers."""

import os
from importlib import import_module

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from sitetrack.kit.collector import settle_collector

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sitetrack.settings")
application = get_wsgi_application()
import_module(settings.ROOT_URLCONF)  # every page's code is read now, not while the first phone waits for its answer
settle_collector()
