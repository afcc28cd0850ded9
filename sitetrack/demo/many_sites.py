"""Realistic sites of any number and size, for benches, training and demos; into whatever data base is set.

What they are. Some pattern buildings are worked through by the demo's crews, every check-in through the same door as a
phone's (patterns.py). Each pattern has its own seed, its own size and its own point of progress. A site is put together
of buildings, each a copy of a pattern drawn by lot (copied_site.py). So what is spread honestly over a site is the work
of as many patterns as there are, and no more: a copy keeps its pattern's order of work, readings, misses, holds and
late phones. Two copies of one pattern differ in ids, in numbers, and in the whole weeks that their site lies back.

What they are not. An item's digest as the phone sent it (`content_digest`) is still the pattern's, a phone's counters
leap from one check-in to the next on the same building, and no mails, photos, webhooks or forecasts are made. All sites
have the demo's people and companies. A moment moved across a change to summer time is an hour off on the site's clock.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from time import monotonic

from django.db import models

from inspections.models import CheckIn
from openings.models import Opening, Site
from sitetrack.demo import ground
from sitetrack.demo.copied_site import parts_of, write_site
from sitetrack.demo.days import WEEKS
from sitetrack.demo.load import Say
from sitetrack.demo.patterns import MOST_PATTERNS, worked_patterns

MOST_SITES, MOST_OPENINGS = 9999, 10_000
PREFIX = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,12}[a-z0-9])?")
# A site lies back by fewer whole weeks than this, so that weekdays stay what they were.
LIES_BACK = 13


class NotWritten(ValueError):  # noqa: N818 - it is a refusal, in words for who asked
    """Why nothing was written, in a sentence."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many sites of how many openings, and what they are made of."""

    sites: int
    openings: int
    seed: int = 1
    prefix: str = "sim"
    patterns: int = 3

    def codes(self) -> list[str]:
        """The sites' codes, in order."""
        return [f"{self.prefix}-{n:0{len(str(self.sites))}d}" for n in range(1, self.sites + 1)]


@dataclass(frozen=True, slots=True)
class Written:
    """One site as it was written: its rows by model, and how many seconds it took."""

    code: str
    rows: Counter[type[models.Model]]
    seconds: float

    def __str__(self) -> str:
        return f"{self.code}: {told(self.rows, self.seconds)}"


def told(rows: Counter[type[models.Model]], seconds: float) -> str:
    """Openings, check-ins and rows, and how fast they were written."""
    total = rows.total()
    return (
        f"{rows[Opening]:,} openings, {rows[CheckIn]:,} check-ins, {total:,} rows in {seconds:.1f} s, "
        f"{total / max(seconds, 0.001):,.0f} rows/s"
    )


def check_wanted(wanted: Wanted) -> None:
    """Raise `NotWritten` where the sites can't be written as they are wanted."""
    for option, value, most in (
        ("--sites", wanted.sites, MOST_SITES),
        ("--openings", wanted.openings, MOST_OPENINGS),
        ("--worked-patterns", wanted.patterns, MOST_PATTERNS),
    ):
        if not 1 <= value <= most:
            raise NotWritten(f"{option} {value}: expected a number from 1 to {most}.")
    if not PREFIX.fullmatch(wanted.prefix):
        raise NotWritten(
            f"--code {wanted.prefix!r}: expected 1 to 14 small letters, digits and hyphens, such as 'sim'; "
            "the sites' numbers are put behind it."
        )
    there = set(Site.objects.filter(code__startswith=f"{wanted.prefix}-").values_list("code", flat=True))
    if taken := sorted(there.intersection(wanted.codes())):
        raise NotWritten(
            f"--code {wanted.prefix}: there are sites of that name already, {taken[0]} for one ({len(taken)} of those "
            "wanted). Nothing is written over; choose another prefix."
        )


def write_sites(wanted: Wanted, *, now: datetime, say: Say) -> Iterator[Written]:
    """Write the sites one after the other, each whole or not at all; raises `NotWritten` before anything is done."""
    check_wanted(wanted)
    ground.companies()
    ground.people(now - WEEKS - timedelta(weeks=LIES_BACK))
    # No site has this code once the patterns are read, nor could any have had it: its end is no number.
    pattern_code = f"{wanted.prefix}-p"
    patterns = list(worked_patterns(wanted.patterns, now=now, seed=wanted.seed, code=pattern_code, say=say))
    for code in wanted.codes():
        began = monotonic()
        rng = Random(f"{wanted.seed}/{code}")
        shift = -timedelta(weeks=rng.randrange(LIES_BACK))
        rows = write_site(code=code, parts=parts_of(wanted.openings, patterns, rng), shift=shift, rng=rng)
        yield Written(code, rows, monotonic() - began)
