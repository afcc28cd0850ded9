"""`manage.py backup FILE`: everything in one file, while the server goes on."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from sitetrack.kit.clock import now
from sitetrack.kit.problems import Problem
from sitetrack.operations.archives import write_archive


class Command(BaseCommand):
    """The data base as of one moment, and every photo and file."""

    help = "Write a backup of the data base and of all uploads; phones and pages go on meanwhile."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to."""
        parser.add_argument("file", type=Path, help="the tar file to write")

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        """Write it, and say what it holds."""
        try:
            manifest = write_archive(path=file, now=now())
        except Problem as problem:
            raise CommandError(str(problem)) from problem
        except OSError as error:
            raise CommandError(f"{error.filename or file}: {error.strerror}. Nothing was kept.") from error
        megabytes = file.stat().st_size / 1_000_000
        self.stdout.write(
            f"{file}: {sum(manifest.rows.values())} rows, {len(manifest.digests) - 1} files, {megabytes:.1f} MB, "
            f"as of {manifest.made_at}."
        )
        self.stdout.write("SECRET_KEY is not in it. Keep that elsewhere: without it, webhooks need new secrets.")
