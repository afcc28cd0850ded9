"""What the keys in check-ins stand for, asked once for a whole status."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from openings.models import SequencePlan, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, Words, codes_by_mark
from sitetrack.access.models import Company, Membership, Person


@dataclass(frozen=True, slots=True)
class Names:
    """Names by key, as text; `stages` has the title of every stage of the plans in use, in plan order.

    `marks` has, by a plan's name, the codes of its stages that carry each mark: codes are the plan's own.
    """

    language: str
    people: Mapping[str, str]
    companies: Mapping[str, str]
    plans: Mapping[Any, str]
    stages: Mapping[str, str]
    marks: Mapping[str, Mapping[Mark, tuple[str, ...]]]

    def person(self, key: object) -> str:
        """The person's name; the key itself where there is no such person."""
        return self.people.get(str(key), str(key))

    def company(self, key: object) -> str:
        """The company's name; the key itself where there is no such company."""
        return self.companies.get(str(key), str(key))

    def said(self, words: Words) -> str:
        """A plan's words in the language of the status."""
        return said(words, self.language)


def said(words: Words, language: str) -> str:
    """A plan's words in a language, in English where they lack it."""
    return (words.es if language == "es" else words.en) or words.en


def names_on(site: Site) -> Names:
    """The names used on a site. Whoever reports has, or had, a standing there. Three queries, and one per plan."""
    standing = Membership.objects.filter(site=site)
    people = Person.objects.filter(pk__in=standing.values("person")).values_list("pk", "name", "email")
    companies = Company.objects.filter(pk__in=standing.values("company")).values_list("pk", "name")
    plans: dict[Any, str] = {}
    stages: dict[str, str] = {}
    marks: dict[str, Mapping[Mark, tuple[str, ...]]] = {}
    in_use = SequencePlan.objects.filter(openings__site=site).distinct().order_by("code", "-version")
    for pk, version in in_use.values_list("pk", "version"):
        plan = prepared_plan(pk)
        plans[pk] = f"{said(plan.name, site.language)} v{version}"
        marks[plans[pk]] = codes_by_mark(plan.stages)
        for stage in plan.stages:
            stages.setdefault(stage.code, said(stage.title, site.language))
    return Names(
        language=site.language,
        people={str(pk): name or email for pk, name, email in people},
        companies={str(pk): name for pk, name in companies},
        plans=plans,
        stages=stages,
        marks=marks,
    )
