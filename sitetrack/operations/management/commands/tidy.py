"""`manage.py tidy`: what is kept for a time only, removed when its time is up."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from sitetrack.kit.clock import now
from sitetrack.operations.retention import count_old, tidy


class Command(BaseCommand):
    """Check-ins, the sealed record, the audit trail, issued reports and photos are never among it."""

    help = "Remove what is kept for a time only (the KEEP_..._DAYS settings). Beat does it every day."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whether to look only."""
        parser.add_argument("--dry-run", action="store_true", help="count what would go, and remove nothing")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        """Remove, or count, and say what."""
        found = count_old(now=now()) if dry_run else tidy(now=now())
        for kind, count in found.items():
            self.stdout.write(f"{count:8}  {kind}")
        self.stdout.write("Nothing was removed." if dry_run else "Removed.")
