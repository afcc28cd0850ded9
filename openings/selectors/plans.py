"""Sequence plans as the pure core uses them."""

from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Count, OuterRef, Subquery
from django.db.models.functions import Coalesce

from openings.models import Opening, SequencePlan
from openings.sequence.conditions import Attributes
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan
from sitetrack.access.models import Person


@lru_cache(maxsize=512)
def prepared_plan(plan_id: UUID) -> Plan:
    """The checked plan of one stored version. Versions never change, so it is read once in a process."""
    stored = SequencePlan.objects.get(pk=plan_id)
    return read_plan({"code": stored.code, "name": stored.name, "wall_kind": stored.wall_kind, "stages": stored.stages})


def attributes_of(opening: Opening, wall_kind: str) -> Attributes:
    """What the plan's conditions may ask of an opening; None where the schedule does not tell."""
    return {
        "construction": opening.construction or None,
        "electrified": opening.electrified,
        "leaves": opening.leaves,
        "rating_minutes": opening.rating_minutes,
        "covering_thickness": None if opening.covering_thickness is None else float(opening.covering_thickness.inches),
        "wall_kind": wall_kind or None,
        "hand": opening.hand or None,
    }


def plans_in_force(site: Any, person: Person) -> Any:
    """The site's plans that new openings follow, each with how many openings follow any version of it."""
    follow = Opening.objects.filter(site=OuterRef("site"), plan__code=OuterRef("code"), in_schedule=True).order_by()
    counted = follow.values("plan__code").annotate(count=Count("pk")).values("count")
    found = SequencePlan.objects.visible_to(person).filter(site=site, current=True).select_related("made_by")
    return found.annotate(followed_by=Coalesce(Subquery(counted), 0)).order_by("code")
