"""The verdict of a check: its checklist and its readings, decided here and never by the phone."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from inspections.models.checkins import Action, Outcome
from inspections.selectors.nominal import nominal_opening
from inspections.services.reports import Report
from inspections.trueness.advice import advise
from inspections.trueness.answers import advice_answer, fit_answer
from inspections.trueness.door_fit import door_fit
from inspections.trueness.errors import ReadingError
from inspections.trueness.leaf import design_leaf
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.shape import SHAPING
from inspections.trueness.verdict import judge_readings
from openings.models import Opening
from openings.sequence.stage import Kind, Stage
from sitetrack.kit.canonical import canonical_json
from sitetrack.kit.problems import BadInput, FieldError

WORST_FIRST = (Outcome.FAIL, Outcome.INCOMPLETE, Outcome.PASS)


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict and everything it rests on, in the form the API answers and, `written`, as canonical JSON."""

    outcome: str
    details: dict[str, Any]
    written: bytes


def judge_report(report: Report, *, stage: Stage, opening: Opening, profile: ToleranceProfile) -> Judgement | None:
    """What the server makes of a report on a check stage; None for work and for what asks no verdict.

    Raises `BadInput` naming the reading that can't be read.
    """
    if stage.kind is not Kind.CHECK or report.action not in {Action.FINISH, Action.FAIL}:
        return None
    answers = _judge_answers(report, stage)
    readings = _judge_readings(report, stage, opening, profile)
    outcomes = {answers["verdict"], readings["verdict"]}
    if report.action == Action.FAIL:
        outcomes.add(Outcome.FAIL)
    outcome = worst_of(outcomes)
    details = {**readings, "verdict": outcome, "answers": answers["items"]}
    return Judgement(outcome, details, canonical_json(details))


def worst_of(outcomes: Collection[str]) -> str:
    """What a check comes to by the outcomes of its parts; one that asks nothing passes."""
    return next((outcome.value for outcome in WORST_FIRST if outcome in outcomes), Outcome.PASS.value)


def _judge_answers(report: Report, stage: Stage) -> dict[str, Any]:
    items = []
    for item in stage.checklist:
        given = report.answers.get(item.code)
        verdict = Outcome.INCOMPLETE if given is None else Outcome.PASS if given is item.expect else Outcome.FAIL
        items.append({"code": item.code, "answer": given, "expected": item.expect, "verdict": verdict.value})
    return {"verdict": worst_of({str(item["verdict"]) for item in items}), "items": items}


def _judge_readings(report: Report, stage: Stage, opening: Opening, profile: ToleranceProfile) -> dict[str, Any]:
    if not report.readings and not stage.required_readings:
        return {"verdict": Outcome.PASS, "items": []}
    nominal = nominal_opening(opening)
    required = stage.required_readings if report.action == Action.FINISH else ()
    try:
        readings = read_readings(report.readings, units=profile.units)
    except ReadingError as error:
        raise BadInput(
            str(error), errors=[FieldError(error.field, str(error), read=error.read, expected=error.expected)]
        ) from error
    verdict = judge_readings(readings, opening=nominal, profile=profile, required=required)
    judged = verdict.to_dict(profile.units)
    if nominal is None or not nominal.door_sized:
        return judged
    told: dict[str, Any] = {}
    if not SHAPING.isdisjoint(readings.lengths):
        told["fit"] = _fit(readings, nominal, profile)
    if verdict.failed or verdict.contradictions:
        advice = advise(readings, opening=nominal, profile=profile, required=required, verdict=verdict)
        told["advice"] = advice_answer(advice, nominal, profile.units)
    return judged | told


def _fit(readings: Readings, nominal: NominalOpening, profile: ToleranceProfile) -> dict[str, Any]:
    """What a door of the scheduled size would do in this frame."""
    fit = door_fit(readings, opening=nominal, leaf=design_leaf(nominal, profile), profile=profile)
    return fit_answer(fit, profile)
