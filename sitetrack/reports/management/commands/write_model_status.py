"""`manage.py write_model_status`: write a site's status into a copy of its building model."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from openings.models import Site
from sitetrack.reports.handover.model_status import SET_NAME, write_model_status

MOST_NAMED = 20


class Command(BaseCommand):
    """Gives each door of the model that the schedule knows by its GlobalId a property set with its status."""

    help = f"Write the status of a site's openings into a copy of an IFC model, as the property set {SET_NAME}."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("--site", required=True, metavar="CODE", help="code of the site")
        parser.add_argument(
            "--model", required=True, metavar="FILE", type=Path, help="the model the schedule came from"
        )
        parser.add_argument("--out", required=True, metavar="FILE", type=Path, help="where the copy goes")

    def handle(self, *args: Any, site: str, model: Path, out: Path, **options: Any) -> None:
        """Write the copy and say what was not found in it."""
        found = Site.objects.filter(code=site).first()
        if found is None:
            raise CommandError(f"--site: no site has the code {site!r}.")
        if not model.is_file():
            raise CommandError(f"--model: there is no file {str(model)!r}.")
        try:
            written = write_model_status(found, model, out)
        except ValueError as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"--out: can't write there: {error.strerror or error}.") from error
        self.stdout.write(f"{out}: {written.doors} doors given their status.")
        if written.not_found:
            named = ", ".join(written.not_found[:MOST_NAMED])
            self.stderr.write(f"Not in this model: {len(written.not_found)} openings ({named}).")
