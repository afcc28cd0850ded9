"""The words for what is stored of openings and their checks, told alike on pages, in reports and on paper.

Each face adds its own tables to these; a word that both say has its home here.
"""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

STATES: Mapping[str, Any] = {
    "not needed": _("not needed"),
    "waiting": _("waiting"),
    "ready": _("ready"),
    "underway": _("underway"),
    "done": _("done"),
    "failed": _("failed"),
    "outdated": _("outdated"),
    "held": _("on hold"),
}
ACTIONS: Mapping[str, Any] = {
    "start": _("started"),
    "finish": _("finished"),
    "fail": _("reported as failed"),
    "sign": _("signed"),
    "hold": _("put on hold"),
    "release": _("released"),
    "note": _("noted"),
    "void": _("took back"),
}
VERDICTS: Mapping[str, Any] = {"pass": _("passes"), "fail": _("fails"), "incomplete": _("incomplete")}
SEVERITIES: Mapping[str, Any] = {"critical": _("critical"), "warning": _("warning"), "notice": _("notice")}
CLOSED_HOW: Mapping[str, Any] = {
    "evidence": _("closed by evidence"),
    "plan": _("closed by a change of the sequence plan"),
    "person": _("closed by a person"),
}
CONSTRUCTIONS: Mapping[str, Any] = {"welded": _("welded"), "knocked_down": _("knocked down")}
YES_NO: Mapping[str, Any] = {"yes": _("yes"), "no": _("no")}
