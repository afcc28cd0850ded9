"""Whose devices a person may see."""

from django.db.models import Q, QuerySet

from sitetrack.access.models import Device, Membership, Person
from sitetrack.access.roles import Role


class DeviceQuerySet(QuerySet[Device]):
    """Devices: a supervisor sees those of the site, everyone their own while they have a role on the site."""

    site_path = "site"

    def visible_to(self, person: Person) -> "DeviceQuerySet":
        """Only what `person` may see."""
        mine = Membership.objects.filter(person_id=person.pk, ended_at=None)
        managed = Q(site__in=mine.filter(role=Role.SUPERVISOR).values("site"))
        return self.filter(managed | Q(person_id=person.pk, site__in=mine.values("site")))
