"""Buildings and floors of a site, added, renamed, ordered and removed by its supervisor."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model
from django.utils.translation import gettext as _

from openings.models import Building, Floor, Opening, Site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import differing, facts_of, record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError

BUILDING_FACTS = ("code", "name")
FLOOR_FACTS = ("code", "name", "level", "due_on")
MOST_BUILDINGS = 50
MOST_FLOORS = 200  # of a building; every floor goes to every phone


@transaction.atomic
def put_building(
    *, site: Site, building: Building | None, facts: Mapping[str, Any], who: Person, now: datetime
) -> Building:
    """Add a building, or change the one given; raises `BadInput` naming the field."""
    _begin(site, who)
    if building is None and Building.objects.filter(site=site).count() >= MOST_BUILDINGS:
        raise Conflict(_("A site has at most %(n)d buildings.") % {"n": MOST_BUILDINGS})
    row = Building(site=site) if building is None else Building.objects.get(pk=building.pk, site=site)
    _put(site, row, {name: facts[name] for name in BUILDING_FACTS if name in facts}, who, now)
    return row


@transaction.atomic
def put_floor(
    *, building: Building, floor: Floor | None, facts: Mapping[str, Any], who: Person, now: datetime
) -> Floor:
    """Add a floor to a building, or change the one given; raises `BadInput` naming the field."""
    site = building.site
    _begin(site, who)
    if floor is None and Floor.objects.filter(building=building).count() >= MOST_FLOORS:
        raise Conflict(_("A building has at most %(n)d floors.") % {"n": MOST_FLOORS})
    row = Floor(site=site, building=building) if floor is None else Floor.objects.get(pk=floor.pk, site=site)
    _put(site, row, {name: facts[name] for name in FLOOR_FACTS if name in facts}, who, now)
    return row


@transaction.atomic
def remove_floor(*, floor: Floor, who: Person, now: datetime) -> None:
    """Remove an empty floor; what is told of it on the trail tells the phones too."""
    _begin(floor.site, who)
    if Opening.objects.filter(floor=floor).exists():
        raise Conflict(_("%(floor)s has openings: move them to another floor first.") % {"floor": floor})
    _remove(floor, who, now)


@transaction.atomic
def remove_building(*, building: Building, who: Person, now: datetime) -> None:
    """Remove a building without floors."""
    _begin(building.site, who)
    if Floor.objects.filter(building=building).exists():
        raise Conflict(_("%(building)s has floors: remove them first.") % {"building": building})
    _remove(building, who, now)


def _begin(site: Site, who: Person) -> None:
    """For who may, with the site's lock: a schedule taken in at the same time makes floors too."""
    must(who, site.pk, Right.SET_UP_SITE)
    Site.objects.select_for_update().get(pk=site.pk)


def _put(site: Site, row: Any, facts: Mapping[str, Any], who: Person, now: datetime) -> None:
    new = row._state.adding  # noqa: SLF001 - how Django itself tells a new row
    before = {} if new else facts_of(row, *facts)
    for name, value in facts.items():
        setattr(row, name, value)
    try:
        row.full_clean()
    except ValidationError as error:
        told = error.message_dict
        # A code used twice is refused for the row as a whole; it is the code that has to change.
        errors = [FieldError("code" if n == "__all__" else n, " ".join(said)) for n, said in told.items()]
        raise BadInput(errors[0].detail, errors=errors) from error
    row.save()
    differences = differing(before, facts_of(row, *facts))
    record_change(
        site=site, who=who, now=now, kind=Kind.PLACE, act=Act.ADDED if new else Act.CHANGED, about=row,
        differences=differences,
    )  # fmt: skip


def _remove(row: Model, who: Person, now: datetime) -> None:
    record_change(
        site=row.site,  # type: ignore[attr-defined]
        who=who,
        now=now,
        kind=Kind.PLACE,
        act=Act.REMOVED,
        about=row,
        differences={"code": (row.code, "")},  # type: ignore[attr-defined]
    )
    row.delete()
