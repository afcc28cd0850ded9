"""The edition of one company: its own reports, checks, holds and alerts, what is coming for its trades, and no more."""

from collections.abc import Callable, Collection
from copy import copy
from dataclasses import dataclass

from django.utils.text import slugify

from openings.models import Site
from sitetrack.access.models import Company, Membership
from sitetrack.reports.tables import Row, Table

TABLES = ("companies", "coming", "checks", "holds", "alerts", "changes", "late")


@dataclass(frozen=True, slots=True)
class Edition:
    """Whose edition it is: the company's name, which is unique, and the trades it brings to the site."""

    company: str
    trades: Collection[str]

    @property
    def ending(self) -> str:
        """What its files are called by, after the week."""
        return slugify(self.company) or f"company-{self.company.encode().hex()[:12]}"

    def tables(self, tables: Collection[Table]) -> tuple[Table, ...]:
        """Those tables that can be told of one company alone."""
        return tuple(table for table in tables if table.name in TABLES)

    def wanted(self, name: str, row: Row) -> bool:
        """Whether a row is this company's."""
        if name not in TABLES:
            return False
        return row["trade"] in self.trades if name == "coming" else row["company"] == self.company


Wanted = Callable[[str, Row], bool]


def edition_of(site: Site, company: Company) -> Edition:
    """The edition of a company on a site. One query."""
    standings = Membership.objects.filter(site=site, company=company, ended_at=None).values_list("trades", flat=True)
    return Edition(company.name, frozenset(trade for trades in standings for trade in trades))


def read_in(site: Site, language: str) -> Site:
    """The site as its reports read in another language, for as long as they are made; nothing of it is saved."""
    if not language or language == site.language:
        return site
    other = copy(site)
    other.language = language
    return other
