"""The one place that decides what a person may see.

Every model that belongs to a site has a `site` key and uses `SiteScopedQuerySet`; pages and API alike start from
`Model.objects.visible_to(person)`. A model with a narrower rule for crews (they see their own company's readings, not
another's) says so by naming the field in `crew_own`.
"""

from typing import Any, Self

from django.db import models
from django.db.models import Q

from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Person
from sitetrack.access.roles import Role


class SiteScopedQuerySet(models.QuerySet[Any]):
    """A query that can restrict itself to one person's sites."""

    site_path = "site"
    crew_own = ""  # path to the company that a crew member must share

    def visible_to(self, person: Person) -> Self:
        """Only what `person` may see, by role on each site."""
        mine = Membership.objects.filter(person_id=person.pk, ended_at=None)
        if not self.crew_own:
            return self.filter(**{f"{self.site_path}__in": mine.values("site")})
        crew = Q(pk__in=[])
        for membership in mine.filter(role=Role.CREW):
            crew |= Q(**{self.site_path: membership.site_id, self.crew_own: membership.company_id})
        return self.filter(Q(**{f"{self.site_path}__in": mine.exclude(role=Role.CREW).values("site")}) | crew)


class SiteQuerySet(SiteScopedQuerySet):
    """The sites themselves."""

    site_path = "pk"


class CompanyScopedQuerySet(SiteScopedQuerySet):
    """Rows of which a crew sees its own company's only."""

    crew_own = "company"


class SupervisedQuerySet(SiteScopedQuerySet):
    """Rows that are the supervisors' business only: what is sent outside, and where to."""

    def visible_to(self, person: Person) -> Self:
        """Only those of sites that `person` supervises."""
        standings = Membership.objects.filter(person_id=person.pk, role=Role.SUPERVISOR, ended_at=None)
        return self.filter(**{f"{self.site_path}__in": standings.values("site")})


def membership_of(person: Person, site_id: Any) -> Membership | None:
    """The person's present standing on a site, or None for a stranger."""
    return Membership.objects.select_related("company").filter(person_id=person.pk, site=site_id, ended_at=None).first()
