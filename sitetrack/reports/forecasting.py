"""Making forecasts: once for the same input, kept for a while, read by whoever may read the whole site."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from django.db import transaction
from django.db.models import Exists, Max, OuterRef

from inspections.forecast.back_test import back_test
from inspections.forecast.job import Job
from inspections.forecast.outlook import LEAST_RUNS, outlook
from inspections.selectors.weekly_progress import count_site, job_from
from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.kit.canonical import canonical_json
from sitetrack.reports.forecast_told import Told, nothing_told, told_of
from sitetrack.reports.models import Forecast

# Raised whenever the same input would be told otherwise, so that the forecast is made anew.
FORM = 1
FROM_HOUR = 3  # the night's late batches are in by then
KEPT_FOR = timedelta(days=90)
# Its cost grows with the square; two months back tell of the crews as they are now.
MOST_BACK = 8
BACK_TEST_RUNS = 500  # of a coverage, where 2000 would tell no more than what a week happened to bring


@dataclass(frozen=True, slots=True)
class Asked:
    """All that goes into a forecast: the job (None before any work), the floors' dates and the site's end."""

    site: Site
    today: date
    job: Job | None
    due: Mapping[str, date | None]
    runs: int = LEAST_RUNS

    @property
    def digest(self) -> str:
        """The SHA-256 of it; the same job told twice gives the same forecast, seed and all."""
        content: dict[str, Any] = {
            "form": FORM,
            "site": str(self.site.pk),
            "today": self.today.isoformat(),
            "runs": self.runs,
            "ends_on": str(self.site.ends_on or ""),
            "due": {floor: str(day or "") for floor, day in self.due.items()},
        }
        if self.job is not None:
            content |= {
                "steps": [[s.plan, s.code, s.trade, s.weight, list(s.after), s.proves] for s in self.job.steps],
                "floors": list(self.job.floors),
                "needed": self.job.needed.tolist(),
                "first": self.job.first.isoformat(),
                "done": [[*map(int, at), int(self.job.done[tuple(at)])] for at in np.argwhere(self.job.done)],
            }
        return hashlib.sha256(canonical_json(content)).hexdigest()


def make_forecast(*, site: Site, now: datetime, runs: int = LEAST_RUNS) -> Forecast:
    """Forecast a site as of this morning and keep it; the one already kept where nothing has changed since.

    It is worked out before the transaction, in a few seconds; of two workers at it at once one keeps its own, and they
    are the same but for the moment they were made. Forecasts older than KEPT_FOR are let go.
    """
    today = now.astimezone(site.zone).date()
    counted = count_site(site)
    due = {str(floor.pk): floor.due_on for floor in counted.floors}
    asked = Asked(site, today, job_from(counted, today), due, runs)
    digest = asked.digest
    kept = Forecast.objects.filter(site=site, digest=digest).first()
    if kept:
        return kept
    told = _told(asked, seed_of(digest))
    with transaction.atomic():
        made, _new = Forecast.objects.get_or_create(
            site=site, digest=digest, defaults={"as_of": today, "made_at": now, "told": told}
        )
        Forecast.objects.filter(site=site, as_of__lt=today - KEPT_FOR).delete()
    return made


def latest_forecast(site: Site, person: Person) -> Forecast | None:
    """The last one made that this person may see. One query."""
    return Forecast.objects.visible_to(person).filter(site=site).order_by("-as_of", "-made_at").first()


def seed_of(digest: str) -> int:
    """The seed of the forecast of this digest: anyone can draw the same weeks again."""
    return int(digest[:8], 16)


def sites_without_todays(now: datetime) -> list[Site]:
    """The sites with openings on whose clock it is past FROM_HOUR, and that have no forecast of this day."""
    listed = Opening.objects.filter(site=OuterRef("pk"), in_schedule=True)
    found = Site.objects.filter(Exists(listed)).annotate(latest=Max("forecasts__as_of"))
    owed = []
    for site in found:
        here = now.astimezone(site.zone)
        if here.hour >= FROM_HOUR and (site.latest is None or site.latest < here.date()):
            owed.append(site)
    return owed


def _told(asked: Asked, seed: int) -> Told:
    if asked.job is None:
        return nothing_told(0, asked.runs, seed)
    told = outlook(asked.job, seed=seed, runs=asked.runs, due=asked.due, ends=asked.site.ends_on)
    tried = (
        back_test(asked.job, seed=seed, runs=min(asked.runs, BACK_TEST_RUNS), most_back=MOST_BACK) if told.site else []
    )
    return told_of(told, asked.due, asked.site.ends_on, tried)
