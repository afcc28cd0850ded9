"""The openings of a list beside how one stage of each stands: what a work order is written from."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import OuterRef, Subquery

from inspections.models import Hold, StageStanding
from inspections.models.progress import StageState
from openings.models import Opening, OpeningList, Site
from openings.selectors.lists import listed_openings, place_in_list
from sitetrack.access.models import Company, Person
from sitetrack.access.scope import membership_of
from sitetrack.access.selectors.companies import companies_on_site

MOST_COMPANIES = 200


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One opening of a work order: how the stage stands there, and why it is on hold, if it is."""

    opening: Opening
    state: str
    actionable: bool
    hold: str

    @property
    def to_do(self) -> bool:
        """Whether the stage can be worked now."""
        return self.actionable

    @property
    def settled(self) -> bool:
        """Whether nothing is left to do at this stage."""
        return self.state in {StageState.DONE, StageState.NOT_NEEDED}


def order_lines(listed: OpeningList, person: Person, stage: str) -> list[OrderLine]:
    """The openings of the list in its order, with their walls and how `stage` of each stands. One query."""
    standing = StageStanding.objects.filter(opening=OuterRef("pk"), stage=stage)
    hold = Hold.objects.filter(opening=OuterRef("pk"), released_at=None).order_by("-opened_at")
    rows = (
        listed_openings(listed, person)
        .select_related("wall", "floor__building", "progress")
        .annotate(
            stage_state=Subquery(standing.values("state")[:1]),
            stage_actionable=Subquery(standing.values("actionable")[:1]),
            hold_reason=Subquery(hold.values("reason")[:1]),
        )
    )
    place = place_in_list(listed)
    return [
        OrderLine(row, row.stage_state or "", bool(row.stage_actionable), row.hold_reason or "")
        for row in sorted(rows, key=lambda row: place[row.pk])
    ]


def likeliest_stage(listed: OpeningList, person: Person) -> str:
    """The stage that is next for most of the openings; empty where none is."""
    following = listed_openings(listed, person).exclude(progress__next_stage="").values_list("progress__next_stage")
    counted = Counter(stage for (stage,) in following if stage)
    return min(counted, key=lambda stage: (-counted[stage], stage), default="")


def companies_on(site: Site, person: Person) -> Sequence[Company]:
    """The companies on the site's list or with someone there, by name."""
    if membership_of(person, site.pk) is None:
        return []
    return list(companies_on_site(site.pk)[:MOST_COMPANIES])
