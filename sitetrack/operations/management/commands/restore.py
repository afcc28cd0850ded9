"""`manage.py restore FILE`: a backup put in place, and proved."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from inspections.evidence.verifying import faults_of
from inspections.models import Photo
from inspections.services.photos import photo_name
from openings.models import Site
from sitetrack.kit.problems import Problem
from sitetrack.operations.archives import check_archive, put_back


class Command(BaseCommand):
    """Stop web, worker and beat first; start them again afterwards."""

    help = "Put a backup in place of what is there: checked whole first, migrated, and its sealed record proved."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """From where, and whether something may be lost."""
        parser.add_argument("file", type=Path, help="a file that `backup` wrote")
        parser.add_argument("--replace", action="store_true", help="even where there are sites already: they are lost")

    def handle(self, *args: Any, file: Path, replace: bool, **options: Any) -> None:
        """Check, put back, migrate, prove."""
        if not replace and _sites():
            raise CommandError("There are sites here already. --replace puts the backup in their place.")
        try:
            manifest = check_archive(file)
            files = put_back(file, manifest)
        except Problem as problem:
            raise CommandError(str(problem)) from problem
        except OSError as error:
            raise CommandError(f"{error.filename or file}: {error.strerror}.") from error
        call_command("migrate", verbosity=0, interactive=False)
        faults = list(_faults())
        self.stdout.write(f"Put back as of {manifest.made_at}: {_sites()} sites, {files} files.")
        for fault in faults[:100]:
            self.stdout.write(fault)
        if faults:
            raise CommandError(f"What was put back is not whole: {len(faults)} faults.", returncode=1)
        self.stdout.write("Every sealed record is whole, and every photo is there. Start web, worker and beat again.")


def _sites() -> int:
    try:
        return Site.objects.count()
    except DatabaseError:  # no tables yet
        return 0


def _faults() -> Any:
    for site in Site.objects.all():
        for fault in faults_of(site):
            yield f"{site.code}: {fault}"
    for digest in Photo.objects.values_list("pk", flat=True).iterator():
        if not default_storage.exists(photo_name(digest)):
            yield f"photo {digest} is not there"
