"""What a set of readings comes to, for a page: verdict, drawing, the door that would hang, and which way to move."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inspections.standards.cautions import CAUTIONS, Topic
from inspections.standards.cautions_of_stages import BY_MARK
from inspections.standards.limits import Citation
from inspections.trueness.advice import advise
from inspections.trueness.answers import advice_answer, fit_answer
from inspections.trueness.door_fit import DoorFit, door_fit
from inspections.trueness.drawing import Sheet, draw_frame
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.requests import CheckRequest
from inspections.trueness.shape import SHAPING
from inspections.trueness.verdict import Verdict, judge_readings
from openings.sequence.stage import Mark
from sitetrack.desk.words import spoken
from sitetrack.kit.language import readers_language
from sitetrack.kit.lengths import format_length


@dataclass(frozen=True, slots=True)
class ReadingAnswer:
    """Everything said of one set of readings. `fit` and `advice` are empty where there is nothing to say."""

    size: str
    svg: str
    verdict: Mapping[str, Any]
    fit: Mapping[str, Any]
    advice: Mapping[str, Any]
    changed: tuple[tuple[str, str, str], ...]
    cautions: tuple[str, ...]
    sources: tuple[Citation, ...]
    anything_read: bool


def answer_readings(asked: CheckRequest, *, number: str = "") -> ReadingAnswer:
    """Judge, draw and advise on what was asked; raises nothing."""
    verdict = judge_readings(asked.readings, opening=asked.opening, profile=asked.profile)
    shaped = not SHAPING.isdisjoint(asked.readings.lengths)
    fit = None
    if shaped:
        fit = door_fit(asked.readings, opening=asked.opening, leaf=asked.leaf, profile=asked.profile)
    judged = verdict.to_dict(asked.units)
    fitted = {} if fit is None else fit_answer(fit, asked.profile)
    advice = _advice(asked, verdict)
    return ReadingAnswer(
        size=_size(asked),
        svg=_drawing(asked, number, verdict if asked.readings.lengths else None, fit),
        verdict=judged,
        fit=fitted,
        advice=advice,
        changed=_changed(asked, advice),
        cautions=_cautions(asked, moving=bool(advice.get("moves"))),
        sources=_sources([*(item["source"] for item in judged["items"]), *fitted.get("sources", ())]),
        anything_read=bool(asked.readings.lengths),
    )


def _size(asked: CheckRequest) -> str:
    feet = asked.units == "imperial"
    sides = (asked.opening.width, asked.opening.height)
    said = " × ".join(format_length(side, units=asked.units, feet=feet) for side in sides)
    return ", ".join(part for part in (said, asked.opening.hand or "") if part)


def _drawing(asked: CheckRequest, number: str, verdict: Verdict | None, fit: DoorFit | None) -> str:
    hinges = plan_hinges(height=asked.opening.height, leaf_width=asked.leaf.width, thickness=asked.leaf.thickness)
    return draw_frame(
        Sheet(
            opening=asked.opening,
            readings=asked.readings,
            number=number,
            hinges=hinges.heights,
            verdict=verdict,
            fit=fit,
            units=asked.units,
            language=readers_language(),
        )
    )


def _advice(asked: CheckRequest, verdict: Verdict) -> dict[str, Any]:
    if not (verdict.failed or verdict.contradictions):
        return {}
    advice = advise(asked.readings, opening=asked.opening, profile=asked.profile, verdict=verdict)
    return advice_answer(advice, asked.opening, asked.units)


def _changed(asked: CheckRequest, advice: Mapping[str, Any]) -> tuple[tuple[str, str, str], ...]:
    """Measures that the moves would change: name, as read, as it should read then."""
    if not advice.get("moves"):
        return ()
    read = {name: format_length(length, units=asked.units) for name, length in asked.readings.lengths.items()}
    then = {name: length["text"] for name, length in advice["predicted"].items()}
    return tuple((name, text, then[name]) for name, text in read.items() if then.get(name, text) != text)


def _cautions(asked: CheckRequest, *, moving: bool) -> tuple[str, ...]:
    topics = [*BY_MARK[Mark.PROVES_OPEN_WALL], *((Topic.BRACING, Topic.WIRING) if moving else ())]
    if asked.opening.rating_minutes == 0:
        topics.remove(Topic.RATED)  # unknown is not none: only what is said to have no rating has no label to keep
    return tuple(spoken({"en": CAUTIONS[topic].en, "es": CAUTIONS[topic].es}) for topic in topics)


def _sources(cited: Iterable[Citation]) -> tuple[Citation, ...]:
    return tuple({(each["name"], each["edition"], each["mark"]): each for each in cited}.values())
