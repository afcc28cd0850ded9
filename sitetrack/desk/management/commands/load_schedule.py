"""`manage.py load_schedule FILE --site CODE`: preview a schedule and take it in."""

import json
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inspections.services.work_out import sweep
from openings.intake.previewing import COUNTED, Preview, as_data, preview
from openings.intake.readings import Choices, Source
from openings.intake.settled import DEFAULTABLE, MAPPABLE, UNITS, Settled, read_settled
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file, unit_of
from openings.models import ScheduleRevision, Site
from openings.selectors.facts import title
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role
from sitetrack.kit.clock import now
from sitetrack.kit.problems import Problem

SHOWN = 20
MOST_SWEEPS = 100


class Command(BaseCommand):
    help = "Preview a schedule of openings (CSV, XLSX, XLS, ODS, COBie, IFC) and take it in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the schedule")
        parser.add_argument("--site", required=True, metavar="CODE", help="the site it belongs to")
        parser.add_argument("--dry-run", action="store_true", help="show the preview and write nothing")
        parser.add_argument("--json", action="store_true", help="answer as JSON")
        parser.add_argument("--by", metavar="EMAIL", help="supervisor who takes it in; needed where there are several")
        parser.add_argument("--label", default="", help="name of the revision, such as ASI-3")
        parser.add_argument("--sheet", default="", help="sheet of the workbook that is the schedule")
        parser.add_argument("--map", action="append", default=[], metavar="FIELD=HEADING", help=", ".join(MAPPABLE))
        parser.add_argument(
            "--default", action="append", default=[], metavar="FIELD=VALUE", help=", ".join(DEFAULTABLE)
        )
        parser.add_argument("--unit", choices=UNITS, help="unit of numbers without a mark")
        parser.add_argument("--number-from", default="", metavar="NAME", help="where a model's number is read")
        parser.add_argument(
            "--ours", action="append", default=[], metavar="TYPE", help="take doors proposed as not ours"
        )
        parser.add_argument("--not-ours", action="append", default=[], metavar="TYPE", help="leave doors out")
        parser.add_argument("--partial", action="store_true", help="the file lists only part of the site")
        parser.add_argument("--blank-clears", action="store_true", help="a blank cell takes back what was known")
        parser.add_argument(
            "--file-positions", action="store_true", help="the file's positions count where a person set others"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            raise CommandError(f"There is no site with the code {options['site']}.")
        if not path.is_file():
            raise CommandError(f"There is no file {path}.")
        try:
            with opened_source(path, path.name, unit=unit_of(site)) as source:
                self._run(site, source, path, options)
        except Problem as refused:
            if options["json"]:
                self.stdout.write(json.dumps(refused.as_dict(), ensure_ascii=False, indent=1))
                raise SystemExit(1) from refused
            raise CommandError(refused.detail) from refused

    def _run(self, site: Site, source: Source, path: Path, options: Mapping[str, Any]) -> None:
        choices = choices_for(site, source, sheet=options["sheet"])
        settled = _settle(choices, options)
        made = preview(site, source, settled, progress=self._progress(options, "compared"))
        revision = None
        if not options["dry_run"]:
            revision = take_in_file(
                site=site,
                source=source,
                seen=SeenFile(path, path.name, settled, made.based_on, options["label"]),
                who=_taken_in_by(site, options["by"]),
                now=now(),
                progress=self._progress(options, "written"),
            )
            _work_out_what_is_owed()
        if options["json"]:
            answer = {**as_data(made), "settled": settled.to_dict(), "revision": revision.n if revision else None}
            self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=1))
        else:
            self._tell(made, settled, revision)

    def _progress(self, options: Mapping[str, Any], word: str) -> Any:
        if options["json"] or options["verbosity"] < 1 or not self.stderr.isatty():
            return None

        def show(done: int, total: int) -> None:
            self.stderr.write(f"\r{100 * done // max(total, 1):3d} % {word}", ending="" if done < total else "\n")

        return show

    def _tell(self, made: Preview, settled: Settled, revision: ScheduleRevision | None) -> None:
        write = self.stdout.write
        write(f"Read as {made.file_kind}, {made.rows} rows.")
        for fact, heading in settled.columns.items():
            write(f"  {title(fact)}: column “{heading}”")
        if settled.number_source:
            write(f"  opening number: from {settled.number_source}")
        told = {"missing": "no longer listed"}
        write(", ".join(f"{made.counts[kind]} {told.get(kind, title(kind))}" for kind in COUNTED if made.counts[kind]))
        if made.leaves_most_out:
            write(
                "The file leaves out more openings than it lists again: say --partial if it is a part of the schedule."
            )
        for row in made.changed[:SHOWN]:
            facts = "; ".join(
                f"{title(change.fact)}: {change.before or 'unknown'} → {change.after or 'unknown'}"
                for change in row.changes
            )
            write(f"  changed {row.number}: {facts or row.note}")
        for row in made.missing[:SHOWN]:
            write(f"  no longer listed: {row.number}")
        for refused in made.refused[:SHOWN]:
            write(f"  refused {refused}")
        for group in made.not_ours.values():
            write(f"  not ours: {group.count} of “{group.group}”, {group.reason} ({', '.join(group.numbers[:5])})")
        for warned in made.warnings[:SHOWN]:
            write(f"  look at {warned.number} ({warned.where}): {warned.note}")
        if made.unknown:
            write(
                "Left unknown: " + ", ".join(f"{title(fact)} ({count})" for fact, count in made.unknown.most_common())
            )
        write(f"Taken in as {revision}." if revision else "Nothing was written (--dry-run).")


def _work_out_what_is_owed() -> None:
    """Work the new and changed openings out at once, so that a command on a machine without workers leaves no rest."""
    for _ in range(MOST_SWEEPS):
        if not sweep(now=now()):
            return


def _settle(choices: Choices, options: Mapping[str, Any]) -> Settled:
    proposed = choices.proposed
    return read_settled(
        {
            **proposed.to_dict(),
            "sheet": options["sheet"] or proposed.sheet,
            "columns": {**proposed.columns, **_pairs(options["map"], "--map")},
            "defaults": {**proposed.defaults, **_pairs(options["default"], "--default")},
            "unit": options["unit"] or proposed.unit,
            "number_source": options["number_from"] or proposed.number_source,
            "ours": options["ours"],
            "not_ours": options["not_ours"],
            "partial": options["partial"],
            "blank_clears": options["blank_clears"] or proposed.blank_clears,
            "file_positions": options["file_positions"],
        }
    )


def _pairs(given: list[str], option: str) -> dict[str, str]:
    pairs = [text.partition("=") for text in given]
    for fact, sign, _ in pairs:
        if not sign:
            raise CommandError(f"{option} {fact}: expected FIELD=VALUE, such as {option} floor=2.")
    return {fact.strip(): value for fact, _, value in pairs}


def _taken_in_by(site: Site, email: str | None) -> Person:
    standings = Membership.objects.filter(site=site, role=Role.SUPERVISOR, ended_at=None).select_related("person")
    if email:
        standings = standings.filter(person__email__iexact=email)
    people = [standing.person for standing in standings[:2]]
    if len(people) != 1:
        found = (
            f"{email} is no supervisor of {site}" if email else f"{site} has {len(people) or 'no'} supervisors or more"
        )
        raise CommandError(f"{found}: say with --by EMAIL whose name the revision carries.")
    return people[0]
