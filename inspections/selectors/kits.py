"""The openings that a kit list is made for."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models.functions import Upper

from openings.models import Opening, OpeningList, Site
from openings.selectors.lists import listed_openings, place_in_list
from sitetrack.access.models import Person

MOST_IN_KIT = 2000
MOST_NUMBERS = 500


@dataclass(frozen=True, slots=True)
class Selection:
    """Openings in walking order, the numbers asked for that the site does not have, and whether more were cut off."""

    openings: Sequence[Opening]
    unknown: tuple[str, ...]
    cut_off: bool


def select_openings(site: Site, person: Person, *, floor: UUID | None = None, numbers: Sequence[str] = ()) -> Selection:
    """The openings of a floor, or those of the numbers given in whatever case; with their walls. One query."""
    openings = Opening.objects.visible_to(person).filter(site=site, in_schedule=True).select_related("wall", "floor")
    wanted = {number.upper(): number for number in numbers[:MOST_NUMBERS]}
    if wanted:
        openings = openings.annotate(upper=Upper("number")).filter(upper__in=list(wanted))
    if floor is not None:
        openings = openings.filter(floor=floor)
    found = list(openings[: MOST_IN_KIT + 1])
    known = {opening.number.upper() for opening in found}
    unknown = tuple(number for upper, number in wanted.items() if upper not in known)
    return Selection(found[:MOST_IN_KIT], unknown, cut_off=len(found) > MOST_IN_KIT or len(numbers) > MOST_NUMBERS)


def select_listed(listed: OpeningList, person: Person) -> Selection:
    """The openings of a list, in its order; with their walls. One query."""
    place = place_in_list(listed)
    openings = listed_openings(listed, person).filter(in_schedule=True).select_related("wall", "floor")
    return Selection(sorted(openings, key=lambda opening: place[opening.pk]), (), cut_off=False)
