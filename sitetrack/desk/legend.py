"""What the frame drawing shows, in words: the legend of the drawing, and the words of one opening."""

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inspections.selectors.floors import FloorOpening
from inspections.selectors.stages import StageWords
from sitetrack.desk.frame_mark import FrameLook, Proof
from sitetrack.desk.words import spoken, word

LEGEND = (
    (FrameLook(), gettext_lazy("dashed: only scheduled")),
    (FrameLook(standing=True), gettext_lazy("in line: frame set")),
    (FrameLook(standing=True, anchored=True), gettext_lazy("ticks: anchored")),
    (FrameLook(standing=True, anchored=True, proof=Proof.TRUE), gettext_lazy("bubble in the middle: proved true")),
    (FrameLook(standing=True, anchored=True, proof=Proof.FAILED), gettext_lazy("bubble at the end: check failed")),
    (FrameLook(standing=True, anchored=True, proof=Proof.OUTDATED), gettext_lazy("vial dashed: proof outdated")),
    (
        FrameLook(standing=True, anchored=True, proof=Proof.TRUE, closed_in=True),
        gettext_lazy("hatch: boarded or built in"),
    ),
    (
        FrameLook(standing=True, anchored=True, proof=Proof.TRUE, closed_in=True, hung=True),
        gettext_lazy("swing lines, apex at the hinges: leaf hung"),
    ),
    (FrameLook(standing=True, alert=True), gettext_lazy("broken line: open alert")),
    (FrameLook(standing=True, held=True), gettext_lazy("bar across: on hold")),
)


def standing_words(opening: FloorOpening, stages: Mapping[str, StageWords]) -> str:
    """How an opening stands, in one phrase, for those who can't see its drawing."""
    said = []
    if opening.alerts:
        said.append(ngettext("%(n)d open alert", "%(n)d open alerts", opening.alerts) % {"n": opening.alerts})
    if opening.held:
        said.append(_("on hold"))
    if opening.next_stage:
        title = spoken(stages[opening.next_stage].title) if opening.next_stage in stages else opening.next_stage
        said.append(_("next: %(stage)s, %(trade)s") % {"stage": title, "trade": word("trade", opening.next_trade)})
    elif opening.total and opening.earned == opening.total:
        said.append(_("finished"))
    return "; ".join(said) or _("scheduled")
