"""What is in the schedule, by hand: an opening added, taken off, put back; each with its record."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from openings.models import Opening, ScheduleChange, Site
from openings.selectors.facts import SIMPLE_FACTS, Difference
from openings.services.chosen import check_how_many, chosen_openings
from openings.services.edit import check_number_is_free, fact_errors
from openings.services.places import Places, Walls
from openings.services.schedule_record import Change, record_changes, set_facts
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput, FieldError


@transaction.atomic
def add_opening(*, site: Site, facts: Mapping[str, Any], who: Person, now: datetime) -> Opening:
    """A new opening at the end of its floor's walk; `facts` as for `edit_openings`, number and floor among them.

    Raises Forbidden, and BadInput naming the fact.
    """
    check_may_change_schedule(site, who)
    facts = {"number": None, "floor": None, **facts}
    errors = list(fact_errors(facts))
    if errors:
        raise BadInput(errors[0].detail, errors=errors)
    site = Site.objects.select_for_update().get(pk=site.pk)
    check_number_is_free(site, facts["number"])
    walls = Walls(site)
    opening = Opening(site=site, extra={}, floor=Places(site).floor(facts["floor"]))
    opening.wall = walls.wall(facts["wall"]) if facts.get("wall") else None
    opening.plan = walls.plan(opening.wall)
    set_facts(opening, [Difference(fact, None, facts[fact]) for fact in SIMPLE_FACTS if fact in facts])
    last = Opening.objects.filter(floor=opening.floor).aggregate(last=Max("walk"))["last"]
    opening.walk = (last or 0) + 1
    added = Change(opening, ScheduleChange.Kind.ADDED)
    record_changes(site=site, changes=[added], revision=None, who=who, now=now)
    return opening


@transaction.atomic
def list_openings(
    *, site: Site, versions: Mapping[Any, int], listed: bool, who: Person, now: datetime
) -> list[Opening]:
    """Put openings back into the schedule, or take them off it; gives those that changed.

    What is taken off keeps all its check-ins and stays reachable by its number, as when a revision no longer lists it.
    Raises Forbidden, NotFound, BadInput and ChangedMeanwhile; nothing is written then.
    """
    check_may_change_schedule(site, who)
    check_how_many(versions)
    site = Site.objects.select_for_update().get(pk=site.pk)
    changes = []
    for opening in chosen_openings(site, versions):
        if opening.in_schedule != listed:
            opening.in_schedule = listed
            changes.append(Change(opening, ScheduleChange.Kind.BACK if listed else ScheduleChange.Kind.MISSING))
    if not changes:
        said = _("They are in the schedule already.") if listed else _("They are off the schedule already.")
        raise BadInput(said, errors=[FieldError("openings", said)])
    record_changes(site=site, changes=changes, revision=None, who=who, now=now)
    return [change.opening for change in changes]
