"""What stored words are called on a page, in the language of whoever reads it."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _
from django.utils.translation import npgettext_lazy

from inspections.standards.limits import Mark
from inspections.trueness.measures import MEASURES
from inspections.words import ACTIONS, CLOSED_HOW, CONSTRUCTIONS, SEVERITIES, STATES, VERDICTS, YES_NO
from openings.selectors.facts import TITLES, title
from openings.sequence.state import ConflictCode
from sitetrack.access.roles import Role, Trade
from sitetrack.desk.trueness_words import TRUENESS_TABLES
from sitetrack.kit.language import readers_language

FITS: Mapping[str, Any] = {
    "free": _("A door of the scheduled size would swing free."),
    "binds": _("A door of the scheduled size would bind."),
    "drags": _("A door of the scheduled size would drag."),
}
# What was reported at so many openings: English does not bend for the number, Spanish does.
REPORTED: Mapping[str, Any] = {
    "start": npgettext_lazy("at openings", "started", "started", "n"),
    "finish": npgettext_lazy("at openings", "finished", "finished", "n"),
    "fail": npgettext_lazy("at openings", "reported as failed", "reported as failed", "n"),
    "sign": npgettext_lazy("at openings", "signed", "signed", "n"),
    "hold": npgettext_lazy("at openings", "put on hold", "put on hold", "n"),
    "release": npgettext_lazy("at openings", "released", "released", "n"),
    "note": npgettext_lazy("at openings", "noted", "noted", "n"),
    "void": npgettext_lazy("at openings", "taken back", "taken back", "n"),
}
FOUND: Mapping[str, Any] = {
    "pass": npgettext_lazy("at openings", "passed", "passed", "n"),
    "fail": npgettext_lazy("at openings", "failed", "failed", "n"),
    "incomplete": npgettext_lazy("at openings", "incomplete", "incomplete", "n"),
}
WISHES: Mapping[str, Any] = {
    "at once": _("critical alerts at once, the rest once a day"),
    "daily": _("everything once a day"),
    "never": _("nothing"),
}
MAILS: Mapping[str, Any] = {
    "alert": _("critical alert"),
    "digest": _("alerts of the day"),
    "status": _("weekly status"),
    "anchor": _("end of the sealed record"),
}
SEND_STATES: Mapping[str, Any] = {
    "waiting": _("still owed"),
    "sent": _("arrived"),
    "failed": _("given up"),
    "withdrawn": _("not needed any more"),
}
KEPT_ASIDE: Mapping[str, Any] = {
    "unknown opening": _("no opening of that number"),
    "unknown stage": _("no stage of that name"),
}
SCHEDULE_FIELDS: Mapping[str, Any] = TITLES
CHANGE_KINDS: Mapping[str, Any] = {
    "added": _("added"),
    "changed": _("changed"),
    "missing": _("no longer listed"),
    "back": _("listed again"),
}
SIZE_IS: Mapping[str, Any] = {
    "opening": _("nominal opening"),
    "frame": _("frame, out to out"),
    "leaf": _("door leaf"),
}
SIDES: Mapping[str, Any] = {"left": _("left"), "right": _("right")}
WALL_KINDS: Mapping[str, Any] = {
    "steel_stud": _("steel stud and board"),
    "wood_stud": _("wood stud and board"),
    "masonry": _("masonry"),
    "existing": _("existing wall"),
}
# Why a stored check-in counts for nothing; it stays in the record all the same.
CONFLICTS: Mapping[str, Any] = {
    ConflictCode.UNKNOWN_STAGE: _("the plan has no such stage"),
    ConflictCode.STAGE_NOT_NEEDED: _("this opening does not need that stage"),
    ConflictCode.UNKNOWN_ACTION: _("not an action known here"),
    ConflictCode.WORK_CANNOT_FAIL: _("only a check can fail"),
    ConflictCode.NOTHING_TO_SIGN: _("this stage asks for no signature"),
    ConflictCode.SIGNER_NOT_ALLOWED: _("the signer's role may not sign this stage"),
    ConflictCode.SIGNS_NO_READING: _("it names no reading of this stage"),
    ConflictCode.RELEASE_OF_NOTHING: _("it releases no hold of this opening"),
    ConflictCode.RELEASE_NOT_ALLOWED: _("another company's hold, released by neither it nor the supervisor"),
    ConflictCode.VOID_OF_NOTHING: _("it takes back no check-in of this opening"),
    ConflictCode.VOID_NOT_ALLOWED: _("another company's check-in, taken back by neither it nor the supervisor"),
    ConflictCode.VOID_OF_VOID: _("a taking back can't itself be taken back"),
    ConflictCode.COPIED_COUNTER: _("two check-ins carry the same number of one phone"),
}
# Why the time of a report is doubted.
CLOCK_FLAGS: Mapping[str, Any] = {
    "ahead of receipt": _("it says later than when it reached us"),
    "clock jumped": _("that phone's clock was set anew"),
    "counter used twice": _("two reports carry the same number of one phone"),
}

# How well a limit's source was confirmed; said beside it, so that nobody takes memory for a clause that was read.
MARKS: Mapping[str, Any] = {
    Mark.READ: _("read in the publication"),
    Mark.MIRROR: _("read in a copy of the publication; check the original"),
    Mark.SECONDARY: _("read in an article about the publication"),
    Mark.MEMORY: _("from memory, not confirmed by any text read"),
    Mark.DERIVED: _("worked out from other values; nobody prints it"),
    Mark.COMMON_PRACTICE: _("common practice of the trade, no publication"),
    Mark.SITE: _("set for this site"),
}

TABLES: Mapping[str, Mapping[str, Any]] = {
    "state": STATES,
    "action": ACTIONS,
    "verdict": VERDICTS,
    "fit": FITS,
    "severity": SEVERITIES,
    "closed": CLOSED_HOW,
    "wish": WISHES,
    "mail": MAILS,
    "send_state": SEND_STATES,
    "kept_aside": KEPT_ASIDE,
    "field": SCHEDULE_FIELDS,
    "change": CHANGE_KINDS,
    "construction": CONSTRUCTIONS,
    "size_is": SIZE_IS,
    "side": SIDES,
    "wall_kind": WALL_KINDS,
    "conflict": CONFLICTS,
    "mark": MARKS,
    "clock_flag": CLOCK_FLAGS,
    "trade": dict(Trade.choices),
    "role": dict(Role.choices),
    **TRUENESS_TABLES,
}


def word(table: str, value: str) -> str:
    """The word for a stored value; a value nobody has a word for is shown as it is."""
    if table == "field":
        return title(value)
    return str(TABLES[table].get(value, str(value).replace("_", " ")))


def reported(action: str, verdict: str, openings: int) -> str:
    """What was reported at so many openings, to follow their number; a reading is told by its verdict."""
    told = FOUND[verdict] if verdict else REPORTED[action]
    return str(told % {"n": openings})


def fact_value(fact: str, told: str) -> str:
    """The reader's word for what a schedule told: `knocked_down` is knocked down; sizes and names stay as they are."""
    table = {"construction": CONSTRUCTIONS, "size_is": SIZE_IS, "hinges_seen_from_push": SIDES, "electrified": YES_NO}
    return str(table.get(fact, {}).get(told, told))


def measure_name(name: str) -> str:
    """What a reading measures, short, in the reader's language: how to take it comes after the colon."""
    known = MEASURES.get(name)
    return spoken({"en": known.en, "es": known.es}).partition(":")[0] if known else name.replace("_", " ")


def spoken(words: Mapping[str, str]) -> str:
    """A text of a plan in the reader's language, in English where it lacks that language."""
    return words.get(readers_language()) or words.get("en", "")
