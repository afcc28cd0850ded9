"""`manage.py forecast`: when the floors of a site will be done, and how such forecasts would have done before."""

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inspections.forecast.back_test import Tried, back_test
from inspections.forecast.job import Job
from inspections.forecast.outlook import LEAST_RUNS, LEAST_WEEKS, End, Outlook, outlook
from inspections.forecast.past_weeks import LEAST_OWN_WEEKS
from inspections.selectors.weekly_progress import count_site, job_from
from openings.models import Site
from sitetrack.kit.clock import now

USUAL_SEED = 1
MOST_RUNS = 20_000


class Command(BaseCommand):
    """Prints; stores nothing."""

    help = "Forecast when each floor of a site is proved and finished, from its crews' own past weeks."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("--site", required=True, metavar="CODE", help="code of the site")
        parser.add_argument("--seed", type=int, default=USUAL_SEED, help="the same number draws the same weeks")
        parser.add_argument("--runs", type=int, default=LEAST_RUNS, help="default: %(default)s")
        parser.add_argument("--back-test", action="store_true", help="forecast from past weeks what has since happened")

    def handle(self, *args: Any, site: str, seed: int, runs: int, **options: Any) -> None:
        """Forecast, and back-test where asked to."""
        found = Site.objects.filter(code=site).first()
        if found is None:
            raise CommandError(f"--site: no site has the code {site!r}. See manage.py shell or the site's address.")
        if not LEAST_RUNS <= runs <= MOST_RUNS or seed < 0:
            raise CommandError(f"--runs: expected {LEAST_RUNS} to {MOST_RUNS}, and --seed a number from 0.")
        counted = count_site(found)
        job = job_from(counted, now().astimezone(found.zone).date())
        if job is None:
            raise CommandError(f"{found}: nothing was done before today, so there is nothing to forecast from.")
        names = {str(floor.pk): f"{floor.building}, {floor}" for floor in counted.floors}
        due = {str(floor.pk): floor.due_on for floor in counted.floors}
        self._tell(outlook(job, seed=seed, runs=runs, due=due, ends=found.ends_on), names, due, found.ends_on)
        if options["back_test"]:
            self._tell_back_test(job, seed, runs, names)

    def _tell(self, told: Outlook, names: dict[str, str], due: dict[str, date | None], ends: date | None) -> None:
        self.stdout.write(f"As of the morning of {told.today}: {told.weeks} whole weeks past, {told.runs} runs,")
        self.stdout.write(f"seed {told.seed}. Dates are a tenth, half and nine tenths of the runs.")
        if told.site is None:
            self.stdout.write(f"Not enough weeks: a range needs {LEAST_WEEKS}.")
            return
        for trade, weeks in told.few.items():
            self.stdout.write(f"Few weeks behind it: {trade} ({weeks}).")
        for floor in told.floors:
            self.stdout.write(f"{names[floor.floor]}")
            self.stdout.write(f"  every frame proved: {_said(floor.proved, due[floor.floor])}")
            self.stdout.write(f"  all work finished:  {_said(floor.finished, None)}")
        self.stdout.write(f"Whole site finished: {_said(told.site, ends)}")

    def _tell_back_test(self, job: Job, seed: int, runs: int, names: dict[str, str]) -> None:
        tried = back_test(job, seed=seed, runs=runs)
        self.stdout.write(f"Back-test: stood at the end of each past week with {LEAST_OWN_WEEKS} or more before it.")
        for one in tried:
            self.stdout.write(
                f"  {one.stood_on} +{one.weeks} w  {one.of} {names.get(one.key, one.key)}: "
                f"{one.low} to {one.high}, happened {one.happened}{'' if one.within else '  OUTSIDE'}"
            )
        for past in sorted({one.past for one in tried}):
            self._coverage(f"with {past} weeks past", [one for one in tried if one.past == past])
        self._coverage("in all", tried)

    def _coverage(self, name: str, tried: list[Tried]) -> None:
        within = sum(one.within for one in tried)
        share = f"{within * 100 // len(tried)} %" if tried else "nothing to compare"
        self.stdout.write(f"Within the 80 % interval, {name}: {within} of {len(tried)}, {share}")


def _said(end: End, due: date | None) -> str:
    if end.done:
        return "done"
    if end.range is None:
        return f"not to be told: too few weeks of {', '.join(end.untold)}"
    days = [str(day) if day else "later than three years" for day in (end.range.low, end.range.median, end.range.high)]
    chance = "" if end.range.chance is None else f"; due {due}, made in {end.range.chance:.0%} of runs"
    return f"{days[0]} / {days[1]} / {days[2]}{chance}"
