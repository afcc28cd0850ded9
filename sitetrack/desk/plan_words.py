"""The words of a sequence plan on its sheets: its marks, its conditions, who signs."""

import json
from collections.abc import Mapping
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from openings.sequence.condition_document import write_condition
from openings.sequence.conditions import Above, Condition, OneOf
from openings.sequence.stage import Mark, WhenUnknown, Words

MARKS: Mapping[Mark, Any] = {
    Mark.CONFIRMS_FLOOR: _("confirms the finished floor"),
    Mark.STANDS_FRAME: _("stands the frame"),
    Mark.ANCHORS_FRAME: _("anchors the frame"),
    Mark.PROVES_OPEN_WALL: _("proves the frame in the open wall"),
    Mark.CLOSES_WALL: _("closes the wall"),
    Mark.PROVES_CLOSED_WALL: _("proves the frame in the closed wall"),
    Mark.HANGS_LEAF: _("hangs the leaf"),
}
# What each mark is for, beside its box.
MARK_USES: Mapping[Mark, Any] = {
    Mark.CONFIRMS_FLOOR: _("A frame set before it raises an alert."),
    Mark.STANDS_FRAME: _("From then on a change of the schedule raises an alert, and the frame is drawn standing."),
    Mark.ANCHORS_FRAME: _("The frame is drawn with its anchors."),
    Mark.PROVES_OPEN_WALL: _("Its result is drawn on the frame and told in the weekly status."),
    Mark.CLOSES_WALL: _("Begun before its hold point is passed, it raises the gravest alert."),
    Mark.PROVES_CLOSED_WALL: _("Spreaders taken out before it raise an alert."),
    Mark.HANGS_LEAF: _("The frame is drawn with its leaf."),
}
EVERY_OPENING = ""
AS_WRITTEN = "as_written"
# The conditions one may choose from; any other can come with a plan, and then stays as it is written.
CONDITIONS: Mapping[str, tuple[Any, Condition]] = {
    "electrified": (_("if electrified"), OneOf("electrified", (True,))),
    "not_electrified": (_("if not electrified"), OneOf("electrified", (False,))),
    "knocked_down": (_("if knocked down"), OneOf("construction", ("knocked_down",))),
    "welded": (_("if welded"), OneOf("construction", ("welded",))),
    "single": (_("if of one leaf"), OneOf("leaves", (1,))),
    "pair": (_("if of two leaves"), OneOf("leaves", (2,))),
    "rated": (_("if fire rated"), Above("rating_minutes", 0)),
    "not_rated": (_("if not fire rated"), OneOf("rating_minutes", (0,))),
    "covering": (_("if a floor covering is due"), Above("covering_thickness", 0)),
    "bare": (_("if on the bare slab"), OneOf("covering_thickness", (0,))),
}
WHEN_UNKNOWN: Mapping[WhenUnknown, Any] = {
    WhenUnknown.NEEDED: _("needed until it is known"),
    WhenUnknown.NOT_NEEDED: _("not needed until it is known"),
}


def said(words: Words) -> str:
    """A text in the reader's language."""
    return words.es if (get_language() or "en").startswith("es") and words.es else words.en


def condition_name(condition: Condition | None) -> str:
    """Which of the choices a condition is."""
    if condition is None:
        return EVERY_OPENING
    return next((name for name, (_said, known) in CONDITIONS.items() if known == condition), AS_WRITTEN)


def condition_words(condition: Condition | None) -> str:
    """A condition in words; one that no choice covers as it is written; nothing for every opening."""
    if condition is None:
        return ""
    name = condition_name(condition)
    return str(CONDITIONS[name][0]) if name in CONDITIONS else json.dumps(write_condition(condition))
