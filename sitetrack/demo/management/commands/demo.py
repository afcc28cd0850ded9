"""`manage.py demo`: the invented site, loaded once and served."""

import logging
import os
from argparse import ArgumentParser
from threading import Event, Thread
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from openings.models import Site
from sitetrack.demo.layout import FEWEST, MOST
from sitetrack.demo.load import is_loaded, load
from sitetrack.demo.names import SITE_CODE, SITE_NAME
from sitetrack.demo.serving import HOST, why_not_served
from sitetrack.demo.tour import tour
from sitetrack.kit.clock import now
from sitetrack.reports.forecasting import make_forecast

log = logging.getLogger(__name__)
USUAL_PORT, USUAL_SEED, USUAL_COUNT = 8000, 1, 244
DUE_EVERY_SECONDS = 60


def _do_what_is_due(served: Event) -> None:
    """Beat's part, until the demo has been served: there is no worker beside it."""
    while not served.wait(DUE_EVERY_SECONDS):
        try:
            call_command("due")
        except Exception:
            log.exception("what was due could not be done; it is tried again in a minute")


class Command(BaseCommand):
    help = "Load an invented clinic with five weeks of check-ins, once, and serve it on this machine."
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="load, print what to try, and stop")
        parser.add_argument("--port", type=int, default=USUAL_PORT, help=f"where to serve; {USUAL_PORT} unless given")
        parser.add_argument("--seed", type=int, default=USUAL_SEED, help="the same number makes the same site")
        parser.add_argument(
            "--openings", type=int, default=USUAL_COUNT, help=f"from {FEWEST} to {MOST}; {USUAL_COUNT} unless given"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        serve, port, count = not options["no_serve"], options["port"], options["openings"]
        self._check(port, count, serve=serve)
        call_command("migrate", interactive=False, verbosity=0)
        self._load(options["seed"], count)
        site = Site.objects.get(code=SITE_CODE)
        self.stdout.write(tour(site=site, address=f"http://{HOST}:{port}", now=now()))
        if serve:
            if "PUBLIC_URL" not in os.environ:
                settings.PUBLIC_URL = f"http://{HOST}:{port}"  # where links and codes lead
            self.stdout.write("Ctrl-C stops the server.")
            self.stdout.flush()
            served = Event()
            Thread(target=_do_what_is_due, args=(served,), daemon=True).start()
            try:
                call_command("runserver", f"{HOST}:{port}", use_reloader=False, skip_checks=True)
            finally:
                served.set()

    def _check(self, port: int, count: int, *, serve: bool) -> None:
        """Refuse before any work is done for nothing."""
        if settings.PRODUCTION:
            raise CommandError(
                "The demo is not loaded where SITETRACK_PRODUCTION is set: its passwords are public. "
                "Run it on another machine, or with another DATABASE_URL and without that setting."
            )
        if not 1 <= port <= 65535:
            raise CommandError(f"--port {port}: expected a number from 1 to 65535, such as {USUAL_PORT}.")
        if not FEWEST <= count <= MOST:
            raise CommandError(
                f"--openings {count}: expected a number from {FEWEST} to {MOST}. Fewer can't tell every story, and "
                "the demo's crews set no more in five weeks."
            )
        if serve and (reason := why_not_served(port)):
            raise CommandError(reason)

    def _load(self, seed: int, count: int) -> None:
        if is_loaded():
            self.stdout.write(f"{SITE_NAME} is already there; nothing was loaded or changed.")
            return
        self.stdout.write(f"Loading {SITE_NAME}: {count} openings and five weeks of check-ins, seed {seed} ...")
        site = load(now=now(), seed=seed, openings=count, say=self.stdout.write)
        make_forecast(site=site, now=now())
