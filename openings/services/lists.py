"""Picking openings for one errand, in the order they are walked."""

from collections.abc import Collection, Sequence
from datetime import datetime
from itertools import groupby
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Opening, OpeningList, Site
from openings.services.walk import walking_order
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput

MOST_LISTED = 1000
# The nearest next costs the square of their number; more than these are walked in the order of the schedule.
MOST_BY_POSITION = 600
KEPT = 50  # a person's lists of one site; of more, the oldest go


@transaction.atomic
def make_list(*, site: Site, picked: Collection[Any], who: Person, now: datetime) -> OpeningList:
    """Keep the openings of these ids as a list, floor by floor in walking order. Raises BadInput for none or too many.

    What is not on this site is left out; the caller has asked for what the person may see.
    """
    openings = list(
        Opening.objects.filter(site=site, pk__in=picked)
        .order_by("floor__building__code", "floor__level", "floor__code", "walk", "number")
        .only("pk", "floor", "x", "y")[: MOST_LISTED + 1]
    )
    if not openings:
        raise BadInput(_("Pick at least one opening first."))
    if len(openings) > MOST_LISTED:
        raise BadInput(_("At most %(most)d openings go on one list. Narrow them first.") % {"most": MOST_LISTED})
    walked = [
        str(opening.pk)
        for _floor, group in groupby(openings, key=lambda each: each.floor_id)
        for opening in _walk([*group])
    ]
    made = OpeningList.objects.create(site=site, openings=walked, made_at=now, made_by=who)
    mine = OpeningList.objects.filter(site=site, made_by=who)
    old = mine.values_list("pk", flat=True)[KEPT:]
    OpeningList.objects.filter(pk__in=list(old)).delete()
    return made


def _walk(openings: Sequence[Opening]) -> list[Opening]:
    if len(openings) > MOST_BY_POSITION:
        return list(openings)
    return [openings[index] for index in walking_order([(opening.x, opening.y) for opening in openings])]
