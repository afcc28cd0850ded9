"""`manage.py simulate`: realistic sites of any number and size."""

from argparse import ArgumentParser
from collections import Counter
from time import monotonic
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import models

from sitetrack.demo.data_base import size_on_disk, take_stock
from sitetrack.demo.many_sites import NotWritten, Wanted, Written, told, write_sites
from sitetrack.demo.names import BY_KEY, DEMO_PASSWORD, SUPERVISOR
from sitetrack.kit.clock import now


class Command(BaseCommand):
    """Writes the sites one after the other and says how far it is."""

    help = (
        "Write realistic sites of any number and size into the data base that is set. Each site is put together of "
        "buildings; each building is a copy of one of a few patterns that the demo's crews worked through by the real "
        "services, with other seeds, sizes and points of progress. A copy keeps its pattern's order of work, readings, "
        "misses, holds and late phones; its ids, numbers, seals and whole weeks are its own. The last building may be "
        "a part of one. Stopped in the middle, only whole sites are left."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say what can be asked for."""
        usual = Wanted(1, 1)
        parser.add_argument("--sites", type=int, required=True, metavar="N", help="how many sites")
        parser.add_argument("--openings", type=int, required=True, metavar="M", help="openings of each site")
        parser.add_argument("--seed", type=int, default=usual.seed, help="another number makes other patterns")
        parser.add_argument(
            "--code", default=usual.prefix, metavar="PREFIX", help="codes are PREFIX-1, PREFIX-2 and so on"
        )
        parser.add_argument(
            "--worked-patterns", type=int, default=usual.patterns, metavar="P", help="how many buildings are worked"
        )

    def handle(self, *args: Any, sites: int, openings: int, seed: int, code: str, **options: Any) -> None:
        """Write them, or refuse in a sentence."""
        if settings.PRODUCTION:
            raise CommandError("Not where SITETRACK_PRODUCTION is set: the passwords of the people made are public.")
        wanted = Wanted(sites, openings, seed, code, options["worked_patterns"])
        began, done = monotonic(), list[Written]()
        try:
            for written in write_sites(wanted, now=now(), say=self._say):
                done.append(written)
                self._say(f"{len(done)} of {sites}  {written}")
        except NotWritten as refused:
            raise CommandError(str(refused)) from refused
        except KeyboardInterrupt as stopped:
            self._sum_up(done, monotonic() - began)
            raise CommandError(f"Stopped. The {len(done)} sites written so far are whole.") from stopped
        self._sum_up(done, monotonic() - began)

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def _sum_up(self, done: list[Written], seconds: float) -> None:
        if not done:
            return
        take_stock()
        rows: Counter[type[models.Model]] = sum((written.rows for written in done), Counter())
        self._say(f"{len(done)} sites, {done[0].code} to {done[-1].code}: {told(rows, sum(w.seconds for w in done))}")
        self._say(f"{seconds:.0f} s in all, with the patterns.")
        if size := size_on_disk():
            self._say(f"The data base has {size / 1e6:,.0f} MB on disk.")
        self._say(f"Sign in as {BY_KEY[SUPERVISOR].email} with the password {DEMO_PASSWORD}.")
