"""Correcting one or many openings by hand, under the same checks and with the same record as a schedule."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from openings.models import Opening, ScheduleChange, Site
from openings.selectors.comparison import with_numbers
from openings.selectors.facts import SIMPLE_FACTS, Difference, WallTold, is_unknown, wrong_facts
from openings.services.places import Places, Walls
from openings.services.schedule_record import Change, record_changes, set_facts
from openings.services.take_in import check_may_change_schedule
from sitetrack.access.models import Person
from sitetrack.kit.problems import BadInput, Conflict, FieldError, NotFound

MOST_AT_ONCE = 2000
EDITABLE = (*SIMPLE_FACTS, "floor", "wall")


@transaction.atomic
def edit_openings(
    *, site: Site, versions: Mapping[Any, int], facts: Mapping[str, Any], who: Person, now: datetime
) -> list[Opening]:
    """Give the openings of these ids the facts, and record each that changes; gives the openings that changed.

    `versions` has the version each opening had when it was read. `facts` are values as stored: lengths as Length, None
    for unknown, the name of a floor, a wall as WallTold. Raises Forbidden, NotFound, BadInput naming the fact, and
    Conflict where an opening changed since it was read; nothing is written then.
    """
    check_may_change_schedule(site, who)
    _check(versions, facts)
    site = Site.objects.select_for_update().get(pk=site.pk)
    openings = _read(site, versions)
    _check_number_is_free(site, facts.get("number"), openings)
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
    if not 0 < len(versions) <= MOST_AT_ONCE:
        raise BadInput(f"{len(versions)} openings were chosen; choose from 1 to {MOST_AT_ONCE}.")
    errors = [
        FieldError(fact, f"“{fact}” is no fact of an opening.", fact, "one of " + ", ".join(EDITABLE))
        for fact in facts
        if fact not in EDITABLE
    ]
    errors += wrong_facts({fact: value for fact, value in facts.items() if fact in SIMPLE_FACTS})
    if "number" in facts and len(versions) > 1:
        errors.append(FieldError("number", "A number is given to one opening at a time.", str(facts["number"])))
    if "floor" in facts and not str(facts["floor"] or "").strip():
        errors.append(FieldError("floor", "An opening stands on a floor.", expected="the name of a floor", example="2"))
    if errors:
        raise BadInput(errors[0].detail, errors=errors)


def _read(site: Site, versions: Mapping[Any, int]) -> Sequence[Opening]:
    openings = list(
        Opening.objects.filter(site=site, pk__in=versions).select_related("floor__building", "wall", "plan")
    )
    if len(openings) < len(versions):
        raise NotFound("One of the chosen openings is not on this site. Choose again.")
    stale = [opening.number for opening in openings if opening.version != versions[opening.pk]]
    if stale:
        raise Conflict(
            f"Changed since you read it: {', '.join(stale[:10])}. Look again and correct what is still wrong."
        )
    return openings


def _check_number_is_free(site: Site, number: Any, openings: Sequence[Opening]) -> None:
    if is_unknown(number):
        return
    if with_numbers(Opening.objects.filter(site=site).exclude(pk=openings[0].pk), [number]).exists():
        error = FieldError("number", f"{number} is the number of another opening.", number, "a number that is free")
        raise BadInput(error.detail, errors=[error])


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
            yield Difference("floor", str(before), str(opening.floor))
    if "wall" in facts:
        yield from _wall_difference(opening, facts["wall"], walls)


def _wall_difference(opening: Opening, told: WallTold | None, walls: Walls) -> Iterator[Difference]:
    before = opening.wall
    opening.wall = walls.wall(told) if told else None
    if opening.wall_id != (before.pk if before else None):
        yield Difference("wall", before.code if before else "", opening.wall.code if opening.wall else "")
