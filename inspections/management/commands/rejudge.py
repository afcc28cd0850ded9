"""`manage.py rejudge`: what other tolerances would make of the checks a site already has. Changes nothing."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inspections.models import ToleranceProfile as StoredProfile
from inspections.services.profiles import published_profile
from inspections.services.rejudging import as_lines, rejudge
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.profile_changes import change_profile
from openings.models import Site

MOST_CODES = 20


class Command(BaseCommand):
    """Streams every check of the site through another profile and counts what would change."""

    help = "Report how many verdicts of a site would change under another profile, or under a limit not set yet."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", required=True, metavar="CODE", help="code of the site")
        parser.add_argument(
            "--profile", type=int, metavar="N", help="version of the site's tolerances; default: latest"
        )
        parser.add_argument(
            "--set", action="append", default=[], metavar="NAME=VALUE", dest="changes",
            help="try a setting that no version has, such as plumb=1/8; may be given several times",
        )  # fmt: skip

    def handle(self, *args: Any, **options: Any) -> None:
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            raise CommandError(f"--site: no site has the code {options['site']!r}. There are: {_known_sites()}.")
        profile = _profile(site, options["profile"])
        try:
            profile = change_profile(profile, dict(map(_setting, options["changes"])))
        except ReadingError as error:
            raise CommandError(f"--set: {error}") from error
        for line in as_lines(rejudge(site=site, profile=profile)):
            self.stdout.write(line)


def _profile(site: Site, version: int | None) -> ToleranceProfile:
    versions = StoredProfile.objects.filter(site=site).order_by("-version")
    found = versions.first() if version is None else versions.filter(version=version).first()
    if found is not None:
        return ToleranceProfile.from_dict(found.data)
    if version is None:
        return published_profile(site)
    there = ", ".join(map(str, versions.values_list("version", flat=True)[:MOST_CODES])) or "none yet"
    raise CommandError(f"--profile: the site has no version {version} of its tolerances. There are: {there}.")


def _setting(text: str) -> tuple[str, str | int]:
    name, given, value = text.partition("=")
    if not given:
        raise CommandError(f"--set: read {text!r}, expected a name and a value, such as plumb=1/8.")
    whole = name == "max_swing" and value.isdecimal()
    return name.strip(), int(value) if whole else value.strip()


def _known_sites() -> str:
    return ", ".join(Site.objects.order_by("code").values_list("code", flat=True)[:MOST_CODES]) or "none yet"
