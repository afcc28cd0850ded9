"""What the stages of a site's plans are called, as pages need it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Count

from inspections.models.progress import StageState
from openings.models import SequencePlan, Site
from openings.sequence.stage import Mark
from sitetrack.access.models import Person


@dataclass(frozen=True, slots=True)
class ChecklistQuestion:
    """A question asked at the opening; `text` by language, `expect` the answer that is right."""

    code: str
    text: Mapping[str, str]
    expect: bool


@dataclass(frozen=True, slots=True)
class StageWords:
    """A stage as a page names it: `title` by language, `place` its order in the plan."""

    code: str
    title: Mapping[str, str]
    trade: str
    place: int
    is_check: bool
    hold_point: bool
    sign_roles: tuple[str, ...]
    required_readings: tuple[str, ...]
    checklist: tuple[ChecklistQuestion, ...]
    marks: tuple[str, ...]


def stages_in(document: Iterable[Mapping[str, Any]]) -> dict[str, StageWords]:
    """The stages of one stored plan, by code, in plan order."""
    return {row["code"]: _words(place, row) for place, row in enumerate(document)}


def site_stages(site: Site, person: Person) -> dict[str, StageWords]:
    """Every stage that the site's current plans use, by code. One query.

    Plans word the same stage differently; on sheets of the whole site the plan with the most openings is believed.
    """
    plans = SequencePlan.objects.visible_to(person).filter(site=site, current=True)
    plans = plans.annotate(used=Count("openings")).order_by("-used", "code")
    found: dict[str, StageWords] = {}
    for document in plans.values_list("stages", flat=True):
        for code, words in stages_in(document).items():
            found.setdefault(code, words)
    return dict(sorted(found.items(), key=lambda item: item[1].place))


def _words(place: int, row: Mapping[str, Any]) -> StageWords:
    return StageWords(
        code=row["code"],
        title=row["title"],
        trade=row["trade"],
        place=place,
        is_check=row.get("kind") == "check",
        hold_point=bool(row.get("hold_point")),
        sign_roles=tuple(row.get("sign_roles", ())),
        required_readings=tuple(row.get("required_readings", ())),
        checklist=tuple(
            ChecklistQuestion(item["code"], item["text"], bool(item.get("expect", True)))
            for item in row.get("checklist", ())
        ),
        marks=tuple(row.get("marks", ())),
    )


def states_by_mark(codes: Mapping[Mark, Iterable[str]], states: Mapping[str, str]) -> dict[Mark, tuple[str, ...]]:
    """How the stages that carry each mark stand at an opening, those left out that it does not need.

    `codes` as `codes_by_mark` gives them of the plan that the opening follows, whatever that plan calls its stages.
    """
    return {
        mark: tuple(states[code] for code in marked if states.get(code, StageState.NOT_NEEDED) != StageState.NOT_NEEDED)
        for mark, marked in codes.items()
    }
