"""Holds that failed checks open: what is out, which way to move it, and when it was read again."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from inspections.models import FrameCheck, Hold
from inspections.models.checkins import Action, Outcome
from inspections.services.cases import WorkedOut
from inspections.trueness.measures import MEASURES
from openings.models import Site
from openings.sequence.facts import Fact, in_order
from openings.sequence.stage import Role, Stage
from sitetrack.kit.clock import from_ms

READINGS = {Action.FINISH, Action.FAIL}


def holds_from_checks(site: Site, worked: Iterable[WorkedOut]) -> Iterator[Hold]:
    """One hold for each failed reading that stands, released by the next reading or a waiver."""
    failing = [w for w in worked if any(f.verdict == Outcome.FAIL for f in w.case.facts.values())]
    judged = dict(
        FrameCheck.objects.filter(opening__in=[w.opening.pk for w in failing], verdict=Outcome.FAIL)
        .order_by()
        .values_list("check_in_id", "judged")
    )
    for w in failing:
        for fact, at, after in _failed_readings(w):
            failed, stage = judged.get(UUID(fact.id), {}), w.case.stages[fact.stage]
            reasons = {language: reason_of(failed, stage, language) for language, _name in settings.LANGUAGES}
            yield Hold(
                pk=UUID(fact.id),
                from_check=True,
                site=site,
                opening=w.opening,
                stage=fact.stage,
                reason=reasons[site.language],
                reasons=reasons,
                opened_at=from_ms(at),
                opened_by_id=UUID(fact.person),
                company_id=UUID(fact.company),
                released_at=from_ms(after[1]) if after else None,
                released_by_id=UUID(after[0].person) if after else None,
            )


def _failed_readings(w: WorkedOut) -> Iterator[tuple[Fact, int, tuple[Fact, int] | None]]:
    """Each failed reading with its moment, and what ended it: the next reading of the stage, or a waiver."""
    placed, _ = in_order(f for f in w.case.facts.values() if f.id not in w.state.taken_back)
    by_stage: dict[str, list[tuple[Fact, int]]] = {}
    waived: dict[str, tuple[Fact, int]] = {}
    for at, _, _, _, fact in placed:
        if fact.action in READINGS and fact.verdict and fact.stage in w.case.stages:
            by_stage.setdefault(fact.stage, []).append((fact, at))
        elif fact.waives and fact.about and fact.role == Role.SUPERVISOR:
            waived.setdefault(fact.about, (fact, at))
    for readings in by_stage.values():
        for (fact, at), after in zip(readings, [*readings[1:], None], strict=True):
            if fact.verdict == Outcome.FAIL:
                ends = [end for end in (after, waived.get(fact.id)) if end]
                ended = min(ends, key=lambda end: end[1], default=None)
                yield fact, at, (ended[0], max(at, ended[1])) if ended else None


def reason_of(judged: Mapping[str, Any], stage: Stage, language: str) -> str:
    """What is out and which way to move it, one line each.

    No figures read: holds are seen by every crew of the site, readings by their own company.
    """
    asked = {item.code: getattr(item.text, language) for item in stage.checklist}
    out = [item["name"] for item in judged.get("items", ()) if item["verdict"] == Outcome.FAIL]
    lines = [f"{getattr(MEASURES[name], language).partition(':')[0]}: ✗" for name in out]
    wrong = [answer["code"] for answer in judged.get("answers", ()) if answer["verdict"] == Outcome.FAIL]
    lines += [f"{asked.get(code, code)}: ✗" for code in wrong]
    advice = judged.get("advice", {})
    lines += [move["words"][language] for move in advice.get("moves", ())]
    if again := advice.get("measure_again"):
        names = ", ".join(getattr(MEASURES[name], language).partition(":")[0] for name in again)
        with translation.override(language):
            lines.append(_("Measure again: %(names)s.") % {"names": names})
    return "\n".join(lines)
