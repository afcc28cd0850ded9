"""Holds that failed checks open: what is out, which way to move it, and when it was read again."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any
from uuid import UUID

from inspections.models import FrameCheck, Hold
from inspections.models.checkins import Action, Outcome
from inspections.services.cases import WorkedOut
from inspections.trueness.measures import MEASURES
from openings.models import Site
from openings.sequence.facts import Fact, in_order
from openings.sequence.stage import Stage
from sitetrack.kit.clock import from_ms

READINGS = {Action.FINISH, Action.FAIL}


def holds_from_checks(site: Site, worked: Iterable[WorkedOut]) -> Iterator[Hold]:
    """One hold for each failed reading that stands, released by the next reading of the same check."""
    failing = [w for w in worked if any(f.verdict == Outcome.FAIL for f in w.case.facts.values())]
    judged = dict(
        FrameCheck.objects.filter(opening__in=[w.opening.pk for w in failing], verdict=Outcome.FAIL)
        .order_by()
        .values_list("check_in_id", "judged")
    )
    for w in failing:
        for fact, at, after in _failed_readings(w):
            yield Hold(
                pk=UUID(fact.id),
                from_check=True,
                site=site,
                opening=w.opening,
                stage=fact.stage,
                reason=reason_of(judged.get(UUID(fact.id), {}), fact.note, w.case.stages[fact.stage], site.language),
                opened_at=from_ms(at),
                opened_by_id=UUID(fact.person),
                company_id=UUID(fact.company),
                released_at=from_ms(after[1]) if after else None,
                released_by_id=UUID(after[0].person) if after else None,
            )


def _failed_readings(w: WorkedOut) -> Iterator[tuple[Fact, int, tuple[Fact, int] | None]]:
    """Each failed reading with its moment, and the reading of the same stage that came after it."""
    placed, _ = in_order(f for f in w.case.facts.values() if f.id not in w.state.taken_back)
    by_stage: dict[str, list[tuple[Fact, int]]] = {}
    for at, _, _, _, fact in placed:
        if fact.action in READINGS and fact.verdict and fact.stage in w.case.stages:
            by_stage.setdefault(fact.stage, []).append((fact, at))
    for readings in by_stage.values():
        for (fact, at), after in zip(readings, [*readings[1:], None], strict=True):
            if fact.verdict == Outcome.FAIL:
                yield fact, at, after


def reason_of(judged: Mapping[str, Any], note: str, stage: Stage, language: str) -> str:
    """What is out and which way to move it, one line each, in the site's language."""
    asked = {item.code: getattr(item.text, language) for item in stage.checklist}
    lines = [note] if note else []
    for item in judged.get("items", ()):
        if item["verdict"] == Outcome.FAIL:
            name = getattr(MEASURES[item["name"]], language).partition(":")[0]
            lines.append(f"{name}: {item['value']['text']} ({item['limit']['text']})")
    wrong = [answer["code"] for answer in judged.get("answers", ()) if answer["verdict"] == Outcome.FAIL]
    lines += [f"{asked.get(code, code)}: ✗" for code in wrong]
    lines += [move["words"][language] for move in judged.get("advice", {}).get("moves", ())]
    return "\n".join(lines)
