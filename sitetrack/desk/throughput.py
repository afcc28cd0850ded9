"""What each company got done, week by week, and how often its first reading of a frame passed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.selectors.weekly_progress import Counted, FirstTime
from inspections.trueness.drift import Share, share_of
from openings.sequence.stage import Stage
from sitetrack.desk.progress_curve import Part, StageOf
from sitetrack.desk.progress_drawing import BARS, draw_bars
from sitetrack.desk.words import spoken

WEEK = timedelta(days=7)
MOST_COMPANIES = 25


@dataclass(frozen=True, slots=True)
class CompanyWeeks:
    """Stages of openings a company finished in each of the last weeks, drawn on one scale with the others."""

    company: str
    counts: list[int]
    drawn: SafeString

    @property
    def total(self) -> int:
        """In all of those weeks."""
        return sum(self.counts)


@dataclass(frozen=True, slots=True)
class Passes:
    """How often a company's first reading of a check passed, with Wilson's interval."""

    company: str
    stage: str
    share: Share

    @property
    def percent(self) -> int:
        """In whole per cent, rounded down."""
        return self.share.out * 100 // self.share.of


def mondays(today: date, counted: Counted) -> list[date]:
    """The Mondays of the last weeks of ISO 8601, the running one last; none from before anything was done."""
    monday = today - timedelta(days=today.weekday())
    began = min((each.day for each in counted.done), default=today)
    last = [monday - WEEK * back for back in reversed(range(BARS))]
    return [day for day in last if day == monday or day + WEEK > began]


def companies_by_week(
    counted: Counted, stages: StageOf, part: Part, *, weeks: list[date], only: str | None
) -> list[CompanyWeeks]:
    """The companies that finished something, the busiest first; `only` leaves one of them."""
    counts: defaultdict[str, list[int]] = defaultdict(lambda: [0] * len(weeks))
    for each in counted.done:
        stage: Stage | None = stages.get((each.plan, each.stage))
        place = (each.day - weeks[0]).days // WEEK.days
        told = each.company and (only is None or each.company == only)
        if told and stage and 0 <= place < len(weeks) and part.has(stage, each.floor):
            counts[each.company][place] += each.count
    busiest = sorted(counts.items(), key=lambda item: (-sum(item[1]), item[0]))[:MOST_COMPANIES]
    most = max((max(weekly) for _company, weekly in busiest), default=0)
    return [CompanyWeeks(name, weekly, _drawn(name, weekly, most)) for name, weekly in busiest]


def passes_of(firsts: Iterable[FirstTime], stages: StageOf, *, only: str | None) -> list[Passes]:
    """First readings by company and check, the check by its title; `only` leaves one company."""
    titles = {code: spoken({"en": stage.title.en, "es": stage.title.es}) for (_plan, code), stage in stages.items()}
    return [
        Passes(each.company, titles.get(each.stage, each.stage), share_of(each.passed, each.of))
        for each in firsts
        if only is None or each.company == only
    ]


def _drawn(company: str, weekly: list[int], most: int) -> SafeString:
    return mark_safe(draw_bars(weekly, most, _label(company, weekly)))  # noqa: S308 - it escapes its label itself


def _label(company: str, weekly: list[int]) -> str:
    total = sum(weekly)
    finished = ngettext("%(n)d stage finished", "%(n)d stages finished", total) % {"n": total}
    return _("%(company)s, last %(weeks)d weeks: %(finished)s.") % {
        "company": company, "weeks": len(weekly), "finished": finished,
    }  # fmt: skip
