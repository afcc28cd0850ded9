"""Correcting one or many openings by hand, under the same checks and with the same record as a schedule."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Opening, ScheduleChange, Site
from openings.selectors.comparison import with_numbers
from openings.selectors.facts import SIMPLE_FACTS, Difference, WallTold, is_unknown, wrong_facts
from openings.services.chosen import check_how_many, chosen_openings
from openings.services.places import Places, Walls
from openings.services.schedule_record import Change, record_changes, set_facts
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput, FieldError

EDITABLE = (*SIMPLE_FACTS, "floor", "wall")


@transaction.atomic
def edit_openings(
    *, site: Site, versions: Mapping[Any, int], facts: Mapping[str, Any], who: Person, now: datetime
) -> list[Opening]:
    """Give the openings of these ids the facts, and record each that changes; gives the openings that changed.

    `versions` has the version each opening had when it was read. `facts` are values as stored: lengths as Length, None
    for unknown, the name of a floor, a wall as WallTold. Raises Forbidden, NotFound, BadInput naming the fact, and
    ChangedMeanwhile where an opening changed since it was read; nothing is written then.
    """
    check_may_change_schedule(site, who)
    _check(versions, facts)
    site = Site.objects.select_for_update().get(pk=site.pk)
    openings = chosen_openings(site, versions)
    check_number_is_free(site, facts.get("number"), besides=openings[0].pk)
    places, walls = Places(site), Walls(site)
    changes = []
    for opening in openings:
        wall_before = opening.wall
        differences = tuple(_differences(opening, facts, places, walls))
        if differences:
            set_facts(opening, differences)
            walls.follow(opening, wall_before)
            changes.append(Change(opening, ScheduleChange.Kind.CHANGED, differences))
    record_changes(site=site, changes=changes, revision=None, who=who, now=now)
    return [change.opening for change in changes]


def _check(versions: Mapping[Any, int], facts: Mapping[str, Any]) -> None:
    check_how_many(versions)
    errors = list(fact_errors(facts))
    if "number" in facts and len(versions) > 1:
        said = _("A number is given to one opening at a time.")
        errors.append(FieldError("number", said, str(facts["number"]), _("one opening")))
    if errors:
        raise BadInput(errors[0].detail, errors=errors)


def fact_errors(facts: Mapping[str, Any]) -> Iterator[FieldError]:
    """What may not be stored of these facts, in words."""
    for fact in facts:
        if fact not in EDITABLE:
            expected = _("one of %(choices)s") % {"choices": ", ".join(EDITABLE)}
            yield FieldError(fact, _("“%(fact)s” is no fact of an opening.") % {"fact": fact[:40]}, fact, expected)
    yield from wrong_facts({fact: value for fact, value in facts.items() if fact in SIMPLE_FACTS})
    if "floor" in facts and not str(facts["floor"] or "").strip():
        expected = _("the name of a floor")
        yield FieldError("floor", _("An opening stands on a floor."), "", expected, example="2")


def check_number_is_free(site: Site, number: Any, *, besides: Any = None) -> None:
    """Raise BadInput where another opening of the site has the number, in whatever case."""
    if is_unknown(number):
        return
    if with_numbers(Opening.objects.filter(site=site).exclude(pk=besides), [number]).exists():
        said = _("%(number)s is the number of another opening.") % {"number": number}
        raise BadInput(said, errors=[FieldError("number", said, number, _("a number that is free"))])


def _differences(opening: Opening, facts: Mapping[str, Any], places: Places, walls: Walls) -> Iterator[Difference]:
    for fact in SIMPLE_FACTS:
        if fact in facts:
            before, after = getattr(opening, fact), facts[fact]
            if before != after and not (is_unknown(before) and is_unknown(after)):
                yield Difference(fact, before, after)
    if "floor" in facts:
        before = opening.floor
        opening.floor = places.floor(facts["floor"], before.building.code)
        if opening.floor_id != before.pk:
            yield Difference("floor", str(before), str(opening.floor), was=str(before.pk))
    if "wall" in facts:
        yield from _wall_difference(opening, facts["wall"], walls)


def _wall_difference(opening: Opening, told: WallTold | None, walls: Walls) -> Iterator[Difference]:
    before = opening.wall
    opening.wall = walls.wall(told) if told else None
    if opening.wall_id != (before.pk if before else None):
        after = opening.wall.code if opening.wall else ""
        yield Difference("wall", before.code if before else "", after, was=str(before.pk) if before else "")
