"""Buildings and floors as the set-up shows them."""

from django.db.models import Count

from openings.models import Building, Floor, Site
from sitetrack.access.models import Person


def buildings_with_floors(site: Site, person: Person) -> list[tuple[Building, list[Floor]]]:
    """Each building with its floors, lowest first, each with its `opening_count`. Two queries."""
    floors: dict[object, list[Floor]] = {}
    counted = Floor.objects.visible_to(person).filter(site=site).annotate(opening_count=Count("openings"))
    for floor in counted.order_by("level", "code"):
        floors.setdefault(floor.building_id, []).append(floor)
    houses = Building.objects.visible_to(person).filter(site=site).order_by("code")
    return [(house, floors.get(house.pk, [])) for house in houses]
