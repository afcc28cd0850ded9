"""Verdicts worked out before the site's lock is taken, so that the phones of a site wait for each other less.

What a reading is judged by may change before the lock is had; a verdict foreseen by anything else is thrown away and
the reading judged again, under the lock.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Self
from uuid import UUID

from inspections.models import ToleranceProfile
from inspections.selectors.nominal import nominal_opening
from inspections.services.judging import Judgement, judge_report
from inspections.services.profiles import prepared_profile
from inspections.services.reports import Report
from inspections.trueness.opening import NominalOpening
from openings.models import Opening, Site
from openings.selectors.comparison import number_key, openings_by_number
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Stage
from sitetrack.kit.problems import Problem

# Asking for openings and profile once more costs about as much as judging a few.
WORTHWHILE = 10


@dataclass(frozen=True, slots=True)
class JudgedBy:
    """Everything about a site that a verdict rests on."""

    stage: Stage
    opening: NominalOpening | None
    profile: UUID

    @classmethod
    def now(cls, stage: Stage, opening: Opening, profile: UUID) -> Self:
        """As the site stands."""
        return cls(stage, nominal_opening(opening), profile)


@dataclass(frozen=True, slots=True)
class Foreseen:
    """A verdict, and what it was worked out by."""

    judgement: Judgement
    by: JudgedBy


def judge_ahead(site: Site, reports: Sequence[Report]) -> Mapping[UUID, Foreseen]:
    """Verdicts of those reports that can be judged, by their id; none where there are too few to be worth it."""
    if len(reports) < WORTHWHILE:
        return {}
    profile = ToleranceProfile.objects.filter(site=site).order_by("-version").values_list("pk", flat=True).first()
    if profile is None:
        return {}
    openings = openings_by_number(site, {report.opening for report in reports})
    found = {}
    for report in reports:
        opening = openings.get(number_key(report.opening))
        stage = prepared_plan(opening.plan_id).find(report.stage) if opening else None
        if opening and stage and (judgement := _judgement(report, stage, opening, profile)):
            found[report.id] = Foreseen(judgement, JudgedBy.now(stage, opening, profile))
    return found


def _judgement(report: Report, stage: Stage, opening: Opening, profile: UUID) -> Judgement | None:
    try:
        return judge_report(report, stage=stage, opening=opening, profile=prepared_profile(profile))
    except Problem:
        return None  # told to the sender when it is decided under the lock
