"""The openings of a list, for whoever may see them."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from openings.models import Opening, OpeningList, Site
from sitetrack.access.models import Person


def visible_list(site: Site, person: Person, list_id: UUID) -> OpeningList | None:
    """The list of this id, where it is of the site and the person stands there."""
    found: OpeningList | None = (
        OpeningList.objects.visible_to(person).filter(site=site, pk=list_id).select_related("made_by").first()
    )
    return found


def listed_openings(listed: OpeningList, person: Person) -> QuerySet[Any]:
    """The openings of a list; `place_in_list` tells their order."""
    openings: QuerySet[Any] = Opening.objects.visible_to(person).filter(site=listed.site_id, pk__in=listed.openings)
    return openings


def place_in_list(listed: OpeningList) -> dict[UUID, int]:
    """The place of each opening in the list, from 0."""
    return {UUID(key): place for place, key in enumerate(listed.openings)}
