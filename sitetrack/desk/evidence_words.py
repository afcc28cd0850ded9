"""The evidence of an alert in one line, from what its rule stored."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from inspections.selectors.alerts import AlertLine
from inspections.selectors.stages import StageWords
from inspections.trueness.implausible import Pattern
from openings.sequence.state import BreachKind
from sitetrack.desk.words import SCHEDULE_FIELDS, fact_value, measure_name, spoken
from sitetrack.kit.clock import from_ms
from sitetrack.kit.day_words import day_words

Stages = Mapping[str, StageWords]
DAY_AND_TIME = "j M H:i"


def evidence_line(alert: AlertLine, stages: Stages) -> str:
    """One sentence saying what was seen; empty where the rule stored nothing that can be said."""
    evidence = alert.evidence
    if "kind" in evidence and "prerequisite" in evidence:
        return _breach(alert, stages)
    if "field" in evidence:
        return _change(evidence)
    if "suspect" in evidence:
        return _contradiction(evidence["suspect"])
    if "outdated_by" in evidence:
        changed = ", ".join(_stage(code, stages) for code in evidence["outdated_by"])
        return _("Changed since it was proved: %(stages)s.") % {"stages": changed}
    if "done_at" in evidence:
        return _rough_in(evidence, stages)
    if "pattern" in evidence:
        return _pattern(evidence, alert)
    if "count" in evidence:
        oldest = _moment(evidence.get("oldest"))
        return _("%(n)d waiting, the oldest since %(when)s.") % {"n": evidence["count"], "when": oldest}
    if "reason" in evidence:
        return _hold(evidence, alert)
    if "stage" in evidence:
        return _("Reported at “%(stage)s”.") % {"stage": _stage(evidence["stage"], stages)}
    return ""


def _breach(alert: AlertLine, stages: Stages) -> str:
    evidence = alert.evidence
    words = {
        "stage": _stage(evidence["stage"], stages),
        "when": _moment(evidence.get("at")),
        "check": _stage(evidence["prerequisite"], stages),
        "who": alert.company or _("someone"),
    }
    sentence = {
        BreachKind.PAST_HOLD_POINT: _(
            "“%(stage)s” by %(who)s on %(when)s; before it, no passing reading for “%(check)s”."
        ),
        BreachKind.FAILED_CHECK: _("“%(stage)s” by %(who)s on %(when)s, after “%(check)s” had failed."),
        BreachKind.CHECK_OUTDATED: _("“%(stage)s” by %(who)s on %(when)s, when “%(check)s” was outdated."),
        BreachKind.BEFORE_SIGNED: _("“%(stage)s” by %(who)s on %(when)s; “%(check)s” had passed and was not signed."),
        BreachKind.ORDER_UNCERTAIN: _(
            "“%(stage)s” by %(who)s on %(when)s and “%(check)s” are closer together than their clocks can tell."
        ),
    }.get(evidence["kind"], _("“%(stage)s” by %(who)s on %(when)s, before “%(check)s”."))
    righted = (evidence.get("evidence") or {}).get("righted_at")
    told = sentence % words
    if righted and evidence["kind"] != BreachKind.ORDER_UNCERTAIN:
        told += " " + _("Put right on %(when)s.") % {"when": _moment(righted)}
    return told


def _change(evidence: Mapping[str, Any]) -> str:
    unknown = _("unknown")
    return _("%(field)s: %(before)s became %(after)s.") % {
        "field": str(SCHEDULE_FIELDS.get(evidence["field"], evidence["field"])).capitalize(),
        "before": fact_value(evidence["field"], evidence.get("before") or "") or unknown,
        "after": fact_value(evidence["field"], evidence.get("after") or "") or unknown,
    }


def _contradiction(suspect: str) -> str:
    return _("Its readings can't all be right: take the %(measure)s again first.") % {"measure": measure_name(suspect)}


def _rough_in(evidence: Mapping[str, Any], stages: Stages) -> str:
    words = {"stage": _stage(evidence.get("stage", ""), stages), "wiring": _stage(evidence["prerequisite"], stages)}
    if evidence["done_at"] is None:
        return _("“%(stage)s” began and “%(wiring)s” is not done.") % words
    words["when"] = _moment(evidence["done_at"])
    return _("“%(stage)s” began before “%(wiring)s” was done on %(when)s.") % words


def _pattern(evidence: Mapping[str, Any], alert: AlertLine) -> str:
    """A pattern in readings, told as figures; who read them is asked, not named here."""
    figures = evidence.get("figures", {})
    words = {
        "who": alert.company or _("someone"),
        "numbers": ", ".join(evidence.get("openings", ())),
        "n": evidence.get("openings_in_all", 0),
        "measure": measure_name(str(figures.get("reading", ""))),
        "minutes": -(-int(figures.get("seconds", 0)) // 60),
    }
    sentence = {
        Pattern.SAME_SET: _("%(who)s: the same set of readings at %(n)d openings: %(numbers)s."),
        Pattern.TOO_FAST: _("%(who)s: %(n)d openings read within %(minutes)d min: %(numbers)s."),
        Pattern.NEVER_VARIES: _("%(who)s: “%(measure)s” read alike at %(n)d openings: %(numbers)s."),
    }.get(evidence["pattern"])
    return sentence % words if sentence else ""


def _hold(evidence: Mapping[str, Any], alert: AlertLine) -> str:
    told = _("Held since %(when)s by %(who)s.") % {
        "when": _moment(evidence.get("opened_at")),
        "who": alert.company or _("someone"),
    }
    return f"{told} {evidence['reason']}" if evidence["reason"] else told


def _stage(code: str, stages: Stages) -> str:
    return spoken(stages[code].title) if code in stages else code


def _moment(given: Any) -> str:
    """Milliseconds since 1970 or RFC 3339 text, on the site's clock."""
    moment: datetime | None = from_ms(given) if isinstance(given, int) else parse_datetime(str(given or ""))
    if moment is None:
        return _("an unknown time")
    return day_words(timezone.localtime(moment), DAY_AND_TIME)
