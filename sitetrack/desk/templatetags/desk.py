"""What desk templates say and draw."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.contrib.messages.storage.base import Message
from django.utils.safestring import SafeString, mark_safe

from inspections.models.alerts import ClosedHow
from inspections.rules.table import EXPLAINED, PLAN_CHANGED, TITLES
from inspections.selectors.alerts import AlertLine
from inspections.selectors.record_lines import RecordLine
from inspections.selectors.stages import StageWords
from inspections.selectors.today import ChangeCount
from openings.models import Site
from sitetrack.desk import words
from sitetrack.desk.evidence_words import evidence_line
from sitetrack.desk.frame_mark import FrameLook
from sitetrack.desk.frame_mark import frame_mark as drawn_mark
from sitetrack.desk.opening_drawing import OpeningDrawing
from sitetrack.desk.progress_line import progress_line as drawn_progress
from sitetrack.desk.state_sign import state_sign as drawn_sign
from sitetrack.desk.told import Undo
from sitetrack.desk.told import undo_of as undo_with

register = template.Library()


@register.simple_tag
def frame_mark(look: FrameLook, label: str = "") -> SafeString:
    """The frame drawing of an opening."""
    return mark_safe(drawn_mark(look, label=label))  # noqa: S308 - the mark escapes its label itself


@register.simple_tag
def drawn_to_scale(drawing: OpeningDrawing) -> SafeString:
    """The opening's drawing to scale."""
    return mark_safe(drawing.svg)  # noqa: S308 - the drawing escapes its words itself


@register.simple_tag
def state_sign(state: str) -> SafeString:
    """The sign of a stage's state."""
    return mark_safe(drawn_sign(state))  # noqa: S308 - the markup is all constant


@register.simple_tag
def progress_line(percent: int, time_gone: int | None = None) -> SafeString:
    """Progress as a dimension line."""
    return mark_safe(drawn_progress(percent, time_gone))  # noqa: S308 - numbers only


@register.filter
def undo_of(message: Message) -> Undo | None:
    """The Undo that goes with what is told."""
    return undo_with(message)


@register.filter
def word(value: Any, table: str) -> str:
    """The reader's word for a stored value: `{{ rung.state|word:"state" }}`."""
    return words.word(table, str(value))


@register.filter
def reported(count: ChangeCount) -> str:
    """What was reported at so many openings, agreeing with their number: `{{ count|reported }}`."""
    return words.reported(count.action, count.verdict, count.openings)


@register.filter
def told_of(value: str, fact: str) -> str:
    """What a schedule told of a fact, in the reader's words: `{{ change.before|told_of:change.field }}`."""
    return words.fact_value(fact, str(value or ""))


@register.filter
def word_of_action(action: str) -> str:
    """What a check-in did, to begin a phrase with; for use inside a translated sentence."""
    return words.word("action", action)


@register.filter
def spoken(text: Mapping[str, str]) -> str:
    """A plan's text in the reader's language."""
    return words.spoken(text)


@register.filter
def stage_name(code: str, stages: Mapping[str, StageWords]) -> str:
    """A stage's title in the reader's language; its code where no plan names it any more."""
    return words.spoken(stages[code].title) if code in stages else code


@register.filter
def stage_names(codes: Any, stages: Mapping[str, StageWords]) -> str:
    """Several stages, in the reader's language."""
    return ", ".join(stage_name(code, stages) for code in codes)


@register.filter
def evidence(alert: AlertLine, stages: Mapping[str, StageWords]) -> str:
    """The alert's evidence in one sentence."""
    return evidence_line(alert, stages)


@register.filter
def alert_title(alert: AlertLine) -> str:
    """What the alert's rule is called."""
    return str(TITLES.get(alert.rule, alert.rule))


@register.filter
def closed_because(alert: AlertLine) -> str:
    """Why an alert was closed: a person's own words, or in the reader's language what its rule or the plan says."""
    if alert.closed_how == ClosedHow.PLAN:
        return str(PLAN_CHANGED)
    if alert.closed_how == ClosedHow.EVIDENCE and alert.rule in EXPLAINED:
        return str(EXPLAINED[alert.rule])
    return alert.closed_why


@register.filter
def measure(name: str) -> str:
    """What a reading measures, in the reader's language."""
    return words.measure_name(name)


@register.simple_tag
def question(stage: str, code: str, stages: Mapping[str, StageWords]) -> str:
    """A checklist question of a stage; its code where the plan no longer asks it."""
    asked = stages[stage].checklist if stage in stages else ()
    return next((words.spoken(item.text) for item in asked if item.code == code), code.replace("_", " "))


@register.filter
def judged_items(line: RecordLine) -> list[Mapping[str, Any]]:
    """The measures judged; a dictionary's own `items` hides them from templates."""
    return list(line.judged.get("items", ()))


@register.filter
def sources(line: RecordLine) -> list[Mapping[str, str]]:
    """Where the limits of a reading come from, each source once."""
    return list({tuple(item["source"].items()): item["source"] for item in judged_items(line)}.values())


@register.filter
def shown_length(given: Mapping[str, Any], site: Site) -> str:
    """A length of an answer, in the site's units."""
    if site.units == Site.Units.METRIC:
        return f"{given['mm']:g} mm"
    return str(given["text"])


@register.filter
def shown_limit(item: Mapping[str, Any], site: Site) -> str:
    """What a measure must lie within: plus or minus, from to, or one end."""
    least, most = item.get("least"), item.get("most")
    if not least or not most:
        return shown_length(item["limit"], site)
    if least["in"] == -most["in"]:
        return f"± {shown_length(most, site)}"
    return f"{shown_length(least, site)} … {shown_length(most, site)}"
