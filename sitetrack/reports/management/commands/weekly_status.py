"""`manage.py weekly_status`: make the files of a site's weekly status in a folder."""

import signal
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from openings.models import Site
from sitetrack.access.models import Company
from sitetrack.kit.clock import now
from sitetrack.reports.edition import Edition, edition_of
from sitetrack.reports.keeping import kept_status
from sitetrack.reports.making import Format, make_status
from sitetrack.reports.week import EXAMPLE, WeekError, parse_week


class Command(BaseCommand):
    """Makes the files of one week; broken off, it leaves nothing half-made."""

    help = "Make the weekly status of a site: a workbook, a CSV file for each table, JSON, and a print."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("--site", required=True, metavar="CODE", help="code of the site")
        parser.add_argument("--week", required=True, metavar="WEEK", help=f"week of ISO 8601, for example {EXAMPLE}")
        parser.add_argument("--out", required=True, metavar="DIR", type=Path, help="folder for the files")
        parser.add_argument(
            "--formats", default="xlsx,csv,json", help=f"any of {', '.join(Format)}; default: %(default)s"
        )
        parser.add_argument("--company", metavar="NAME", default="", help="the edition of one company of the site")

    def handle(self, *args: Any, site: str, week: str, out: Path, formats: str, company: str, **options: Any) -> None:
        """Make the files and say where they are."""
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # stopped by the system, tidy up as for Ctrl+C
        asked = _formats(formats)
        found = Site.objects.filter(code=site).first()
        if found is None:
            raise CommandError(f"--site: no site has the code {site!r}. {_known_sites()}")
        edition = _edition(found, company)
        if out.exists() and not out.is_dir():
            raise CommandError(f"--out: {str(out)!r} is a file; a folder is expected.")
        try:
            name = parse_week(week)
            made = make_status(
                site=found, week=name, now=now(), folder=out, formats=asked, progress=self._progress, edition=edition
            )
        except WeekError as error:
            raise CommandError(f"--week: {error}") from error
        except OSError as error:
            raise CommandError(f"--out: can't write there: {error.strerror or error}.") from error
        except KeyboardInterrupt as stop:
            raise CommandError("Stopped. Nothing was written.", returncode=130) from stop
        for path in made.files:
            self.stdout.write(str(path))
        self.stdout.write(f"sha256 of the figures: {made.digest}")
        if made.header["standing"]:
            self.stderr.write(f"{name} is still running: these figures are not final.")
        kept = kept_status(found, name) if edition is None else None  # what is issued is the whole site's
        if kept and kept.figures != dict(made.figures):
            self.stderr.write(f"Restated: these figures differ from the status issued on {kept.made_at:%Y-%m-%d}.")
        elif kept and kept.digest != made.digest:
            self.stderr.write(f"The same figures as issued on {kept.made_at:%Y-%m-%d}; names or words differ.")

    def _progress(self, done: int, whole: int) -> None:
        if self.stderr.isatty():
            ending = "\n" if done == whole else ""
            self.stderr.write(f"\r{done} of {whole} openings", ending=ending)
            self.stderr.flush()
        elif done == whole or done * 10 // whole > max(done - 200, 0) * 10 // whole:
            self.stderr.write(f"{done} of {whole} openings")


def _formats(text: str) -> list[Format]:
    names = [name.strip().lower() for name in text.split(",") if name.strip()]
    unknown = [name for name in names if name not in set(Format)]
    if unknown or not names:
        read = ", ".join(unknown) or "nothing"
        raise CommandError(f"--formats: read {read}; expected any of {', '.join(Format)}, for example xlsx,csv.")
    return [Format(name) for name in names]


def _edition(site: Site, name: str) -> Edition | None:
    if not name:
        return None
    companies = Company.objects.filter(memberships__site=site).distinct()
    company = companies.filter(name__iexact=name).first()
    if company is None:
        there = ", ".join(companies.order_by("name").values_list("name", flat=True)[:20]) or "none yet"
        raise CommandError(f"--company: no company of this site is called {name!r}. There are: {there}.")
    return edition_of(site, company)


def _known_sites() -> str:
    codes = list(Site.objects.order_by("code").values_list("code", flat=True)[:20])
    return f"There are: {', '.join(codes)}." if codes else "There are none yet."
