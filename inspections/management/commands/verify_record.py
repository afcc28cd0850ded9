"""`manage.py verify_record`: prove that a site's sealed record is whole."""

import json
from argparse import ArgumentParser
from itertools import chain
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inspections.evidence.exporting import about, entries_of
from inspections.evidence.verifying import Fault, anchor_of, check_anchor, faults_of, parse_anchor
from openings.models import Site

MOST_NAMED = 100


class Command(BaseCommand):
    """Recomputes the chain of checks and signatures; ends with 1 and names what is wrong, if anything is."""

    help = "Verify the sealed record of a site: names every entry that was altered, removed or put in another order."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("--site", required=True, metavar="CODE", help="code of the site")
        parser.add_argument("--anchor", metavar="LINE", help="an anchor line kept earlier: 'CODE NUMBER DIGEST'")
        parser.add_argument("--out", metavar="FILE", type=Path, help="write the record as JSON, to verify elsewhere")

    def handle(self, *args: Any, site: str, anchor: str | None, out: Path | None, **options: Any) -> None:
        """Verify, and say how far the record goes."""
        found = Site.objects.filter(code=site).first()
        if found is None:
            raise CommandError(f"--site: no site has the code {site!r}.")
        if out:
            self._export(found, out)
        kept = _anchor(found, anchor) if anchor else None
        count = 0
        for fault in chain([kept] if kept else [], faults_of(found)):
            count += 1
            if count <= MOST_NAMED:
                self.stdout.write(f"{count}. {fault}")
        end = anchor_of(found)
        if count:
            raise CommandError(f"The record of {site} is not whole: {count} faults.", returncode=1)
        self.stdout.write(f"The record of {site} is whole: {end.n} entries.")
        self.stdout.write(f"Anchor to keep elsewhere: {end}")

    def _export(self, site: Site, out: Path) -> None:
        try:
            with out.open("w", encoding="utf-8") as file:
                file.write('{"about": ' + json.dumps(about(site), ensure_ascii=False) + ',\n"entries": [')
                for place, entry in enumerate(entries_of(site)):
                    file.write(("," if place else "") + "\n" + json.dumps(entry, ensure_ascii=False))
                file.write("]}\n")
        except OSError as error:
            raise CommandError(f"--out: can't write there: {error.strerror or error}.") from error


def _anchor(site: Site, line: str) -> Fault | None:
    try:
        return check_anchor(site, parse_anchor(line))
    except ValueError as error:
        raise CommandError(f"--anchor: {error}.") from error
