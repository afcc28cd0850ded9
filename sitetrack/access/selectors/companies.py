"""Companies of a site: those on its list and those with someone here."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from sitetrack.access.models import Company, Membership, SiteCompany

MOST_COMPANIES = 200
MOST_NAMED = 500


@dataclass(frozen=True, slots=True)
class CompanyHere:
    """A company, the trades told of it here, those its people do, and who of them is here, by name."""

    id: UUID
    name: str
    listed: bool
    told: frozenset[str]
    done: frozenset[str]
    people: tuple[str, ...]

    @property
    def trades(self) -> frozenset[str]:
        """What it does here, by its listing or by its people."""
        return self.told | self.done


def companies_on_site(site_id: Any) -> QuerySet[Any]:
    """Companies on the site's list, or with someone who has a role there now, by name."""
    here = Membership.objects.filter(site=site_id, ended_at=None).values("company")
    listed = SiteCompany.objects.filter(site=site_id).values("company")
    return Company.objects.filter(Q(pk__in=here) | Q(pk__in=listed)).order_by("name")


def companies_here(site_id: Any) -> list[CompanyHere]:
    """The site's companies as its sheet shows them. Three queries."""
    companies = list(companies_on_site(site_id)[:MOST_COMPANIES])
    told = dict(SiteCompany.objects.filter(site=site_id, company__in=companies).values_list("company", "trades"))
    people: dict[UUID, list[str]] = defaultdict(list)
    done: dict[UUID, set[str]] = defaultdict(set)
    standings = Membership.objects.filter(site=site_id, ended_at=None, company__in=companies).select_related("person")
    for standing in standings.order_by("person__name", "pk")[:MOST_NAMED]:
        people[standing.company_id].append(str(standing.person))
        done[standing.company_id].update(standing.trades)
    return [
        CompanyHere(
            id=row.pk,
            name=row.name,
            listed=row.pk in told,
            told=frozenset(told.get(row.pk, ())),
            done=frozenset(done[row.pk]),
            people=tuple(people[row.pk]),
        )
        for row in companies
    ]
