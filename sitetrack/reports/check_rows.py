"""The rows of the checks received in the week, item by item with the margin to each limit; and of the alerts."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from inspections.selectors.alerts import AlertLine
from openings.sequence.stage import Stage
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.lengths import UnitSystem, format_length, from_mm
from sitetrack.reports.cases import OpeningCase
from sitetrack.reports.names import said
from sitetrack.reports.opening_rows import Row, Telling, place

ITEM_COLUMNS = ("item", "as_read", "value", "limit", "margin", "margin_number", "item_verdict", "source", "source_mark")
NO_PLACE: Row = {"opening": None, "building": None, "floor": None}


def check_rows(case: OpeningCase, telling: Telling) -> Iterator[Row]:
    """One row for each item of each check received in the period; one without an item where nothing was asked."""
    stages = {stage.code: stage for stage in case.plan.stages}
    by_id = {fact.id: fact for fact in case.facts}
    for check in case.checks:
        if check.received_at < telling.period.start:
            continue
        standing = case.now.stages.get(check.stage)
        signature = by_id.get(standing.signed_by or "") if standing and standing.reading == check.id else None
        about: Row = {
            **place(case),
            "stage": check.stage,
            "read_at": rfc3339(check.read_at),
            "received_at": rfc3339(check.received_at),
            "company": telling.names.company(check.company),
            "person": telling.names.person(check.person),
            "signed_by": telling.names.person(signature.person) if signature else None,
            "verdict": check.verdict,
            "late": check.read_at < telling.period.start,
            "taken_back": check.id in case.now.taken_back,
        }
        items = list(
            item_rows(check.judged, check.readings, stages.get(check.stage), telling.units, telling.names.language)
        )
        for item in items or [dict.fromkeys(ITEM_COLUMNS)]:
            yield about | item


def item_rows(
    judged: Mapping[str, Any], readings: Mapping[str, Any], stage: Stage | None, units: UnitSystem, language: str
) -> Iterator[Row]:
    """One row for each thing that was judged: what was measured, what was missing, what was answered."""
    for row in (*_measured(judged, readings, units), *_missing(judged), *_answered(judged, stage, language)):
        yield dict.fromkeys(ITEM_COLUMNS) | row


def alert_row(alert: AlertLine, where: Row, telling: Telling) -> Row:
    """An alert as it stood at the end of the period, whatever became of it since."""
    end = telling.period.end
    closed = alert.closed_at is not None and alert.closed_at < end
    seen = alert.acknowledged_at is not None and alert.acknowledged_at < end
    return {
        **where,
        "rule": alert.rule,
        "severity": alert.severity,
        "standing": alert.closed_how if closed else "open",
        "happened_at": rfc3339(alert.happened_at),
        "opened_at": rfc3339(alert.opened_at),
        "company": alert.company,
        "acknowledged_by": alert.acknowledged_by if seen else None,
        "closed_at": rfc3339(alert.closed_at) if closed and alert.closed_at else None,
        "closed_by": alert.closed_by if closed else None,
        "closed_why": alert.closed_why if closed else None,
    }


def _measured(judged: Mapping[str, Any], readings: Mapping[str, Any], units: UnitSystem) -> Iterator[Row]:
    for item in judged.get("items", ()):
        read = readings.get(item["name"])
        margin = item.get("margin")
        yield {
            "item": item["name"],
            "as_read": None if read is None else str(read),
            "value": _length(item.get("value"), units),
            "limit": _limit(item, units),
            "margin": _length(margin, units),
            "margin_number": margin["mm" if units == "metric" else "in"] if margin else None,
            "item_verdict": item["verdict"],
            **_source(item.get("source")),
        }


def _missing(judged: Mapping[str, Any]) -> Iterator[Row]:
    for name in judged.get("missing", ()):
        yield {"item": name, "item_verdict": "incomplete"}


def _answered(judged: Mapping[str, Any], stage: Stage | None, language: str) -> Iterator[Row]:
    questions = {item.code: said(item.text, language) for item in (stage.checklist if stage else ())}
    for answer in judged.get("answers", ()):
        yield {
            "item": questions.get(answer["code"], answer["code"]),
            "value": _yes_no(answer["answer"]),
            "limit": _yes_no(answer["expected"]),
            "item_verdict": answer["verdict"],
        }


def _yes_no(answer: bool | None) -> str | None:
    return None if answer is None else _("yes") if answer else _("no")


def _length(shape: Mapping[str, Any] | None, units: UnitSystem) -> str | None:
    """A length in the site's units, with a minus sign that no spreadsheet takes for the start of a formula."""
    if not shape:
        return None
    return format_length(from_mm(shape["mm"]), units=units).replace("-", "−", 1)


def _limit(item: Mapping[str, Any], units: UnitSystem) -> str | None:
    """The limit that was nearest: to either side, or the least or the most there may be."""
    nearest, least, most = item.get("limit"), item.get("least"), item.get("most")
    said = _length(nearest, units)
    if not said or not nearest or not least or not most:
        return said  # judged by an earlier release, which told the nearest end alone
    if least["mm"] == -most["mm"]:
        return f"± {said}"
    return (_("at least %(limit)s") if nearest["mm"] == least["mm"] else _("at most %(limit)s")) % {"limit": said}


def _source(cited: Mapping[str, str] | None) -> Row:
    """Where a limit comes from, and how well that was confirmed."""
    if not cited:
        return {}
    return {"source": ", ".join(filter(None, (cited["name"], cited["edition"]))), "source_mark": cited["mark"]}
