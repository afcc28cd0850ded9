"""Which openings have their frame already."""

from collections.abc import Sequence

from inspections.models import StageStanding
from inspections.models.progress import StageState
from openings.models import Opening, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark

BEGUN = (StageState.UNDERWAY, StageState.DONE)


def numbers_with_frames(site: Site, numbers: Sequence[str]) -> list[str]:
    """Of these numbers, those at which the frame is being set or stands, in order. Two queries."""
    plans = Opening.objects.filter(site=site, number__in=numbers).order_by().values_list("plan", flat=True).distinct()
    setting = {code for plan in plans for code in codes_by_mark(prepared_plan(plan).stages).get(Mark.STANDS_FRAME, ())}
    there = StageStanding.objects.filter(site=site, opening__number__in=numbers, stage__in=setting, state__in=BEGUN)
    return list(there.order_by("opening__number").values_list("opening__number", flat=True).distinct())
