"""What was changed, from what to what, in the reader's words; in a file for programs the codes stay."""

from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from inspections.rules.table import TITLES as RULES
from openings.selectors.facts import TITLES as FACTS
from openings.selectors.facts import title
from sitetrack.access.models.changes import Kind
from sitetrack.access.roles import Role, Trade
from sitetrack.desk.site_form import UNITS, WEEKDAYS
from sitetrack.desk.trueness_words import LIMITS
from sitetrack.desk.words import WISHES, fact_value
from sitetrack.reports.models import Reader

FIELDS: Mapping[str, Any] = {
    "acknowledged": _("acknowledged"),
    "added": _("added"),
    "alerts": _("mail about alerts"),
    "anchor": _("end of the sealed record"),
    "area": _("where"),
    "bottom": _("lower edge of the picture, meters"),
    "browser": _("browser"),
    "changed": _("changed"),
    "code": _("code"),
    "code until": _("code good until"),
    "company": _("company"),
    "contact": _("whom to ask about the job"),
    "digest": _("picture"),
    "distance": _("distance measured"),
    "due_on": _("frames proved by"),
    "ends_on": _("work ends on"),
    "events": _("events"),
    "facts": _("facts"),
    "file": _("file"),
    "file_name": _("file"),
    "hold_limit_days": _("a hold is too old after days"),
    "kind": _("kind"),
    "language": _("language"),
    "left": _("left edge of the picture, meters"),
    "level": _("level"),
    "metres_per_px": _("meters a pixel"),
    "missing": _("no longer listed"),
    "name": _("name"),
    "one-time codes": _("one-time codes"),
    "opening": _("opening"),
    "openings": _("openings"),
    "page": _("page"),
    "paper": _("paper"),
    "password": _("password"),
    "person": _("person"),
    "reason": _("reason"),
    "recovery codes": _("recovery codes"),
    "refused": _("refused"),
    "report_hour": _("weekly status at the hour"),
    "report_weekday": _("weekly status on"),
    "reported by": _("reported by"),
    "required": _("readings a check must have"),
    "role": _("role"),
    "rule": _("rule"),
    "secret": _("secret"),
    "signer_differs_from_reader": _("signed by another person than its reader"),
    "signing code": _("signing code"),
    "source": _("where it says so"),
    "stage": _("stage"),
    "stages": _("stages"),
    "starts_on": _("work starts on"),
    "status": _("weekly status"),
    "supervisor": _("supervisor"),
    "supervisors_need_codes": _("supervisors sign in with a code"),
    "time_zone": _("time zone"),
    "trades": _("trades"),
    "units": _("units"),
    "until": _("until"),
    "version": _("version"),
    "why": _("reason"),
}
MANY_OPENINGS = ngettext_lazy("%(n)d opening", "%(n)d openings", "n")
MANY_ALERTS = ngettext_lazy("%(n)d alert", "%(n)d alerts", "n")
VERSION = _("version %(n)s")
_YES, _NO = _("yes"), _("no")
VALUES: Mapping[str, Mapping[str, Any]] = {
    "role": dict(Role.choices),
    "kind": {"phone": _("phone"), "program": _("program")},
    "language": dict(settings.LANGUAGES),
    "paper": dict(Reader.Paper.choices),
    "report_weekday": {str(number): day for number, day in WEEKDAYS},
    "units": {str(code): words for code, words in UNITS},
    "rule": RULES,
    "alerts": WISHES,
    "password": {"set": _("set anew")},
    "signing code": {"set": _("set anew")},
    "recovery codes": {"new": _("made anew")},
    "secret": {"made anew": _("made anew")},
    "one-time codes": {"on": _("on")},
    "browser": {"all others": _("all others")},
}
PLAIN: Mapping[str, Any] = {"True": _YES, "False": _NO, "yes": _YES, "no": _NO, "": "—"}


def field_word(kind: str, field: str) -> str:
    """What a field is called: an opening's facts and a profile's limits by their own tables."""
    if kind == Kind.OPENING and (field in FACTS or field.startswith("extra:")):
        return title(field)
    if kind == Kind.PROFILE and field in LIMITS:
        return str(LIMITS[field])
    return str(FIELDS.get(field, field))


def value_word(kind: str, field: str, text: str) -> str:
    """A value as a reader says it; names, numbers and what was typed stay as they are."""
    if kind == Kind.OPENING and field in FACTS:
        return fact_value(field, text) or str(PLAIN[""])
    if field == "trades":
        return ", ".join(_trade(code) for code in text.split(", ")) if text else str(PLAIN[""])
    if kind == Kind.OPENING and field == "facts":
        return ", ".join(title(fact) for fact in text.split(", "))
    if field == "digest":
        return text[:8] or str(PLAIN[""])
    return str(VALUES.get(field, {}).get(text) or PLAIN.get(text, text))


def thing_word(kind: str, named: str) -> str:
    """What was changed, by the name it had then; a muted rule by its title."""
    number, _space, what = named.partition(" ")
    if number.isdecimal() and what == "openings":
        return str(MANY_OPENINGS % {"n": int(number)})
    if number.isdecimal() and what == "alerts":
        return str(MANY_ALERTS % {"n": int(number)})
    if kind == Kind.PROFILE and number == "version":
        return str(VERSION % {"n": what})
    return str(RULES.get(named, named)) if kind == Kind.ALERT else named


def _trade(code: str) -> str:
    return str(Trade(code).label) if code in Trade.values else code
