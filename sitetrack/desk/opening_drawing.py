"""The opening's drawing to scale, what its last readings come to at the door, and how to put the frame right."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from inspections.evidence.drawn import DrawnFrame, frame_drawing
from inspections.selectors.frame_changes import FRAME_IS_MADE_BY
from inspections.selectors.opening_history import ScheduleFact
from inspections.selectors.opening_record import OpeningSheet
from inspections.selectors.record_lines import RecordLine
from inspections.trueness.advice import advise
from inspections.trueness.errors import ReadingError
from inspections.trueness.move_words import move_in_words
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.verdict import Outcome
from openings.models import ScheduleChange
from openings.sequence.stage import Mark
from sitetrack.desk.frame_mark import finished
from sitetrack.desk.words import spoken
from sitetrack.kit.language import readers_language


@dataclass(frozen=True, slots=True)
class OpeningDrawing:
    """The drawing as SVG text; `reading` is the check-in it shows the frame by, `moves` what would make it true.

    `outlived` is a later reading that is not drawn: it was of the frame that the schedule told of then.
    """

    svg: str
    reading: RecordLine | None
    fit: str
    moves: tuple[str, ...]
    outlived: RecordLine | None = None


def opening_drawing(sheet: OpeningSheet) -> OpeningDrawing | None:
    """Draw the opening by its last standing reading; None where its size is not known or can't be a door's."""
    profile = ToleranceProfile.from_dict(sheet.profile)
    standing = [line for line in sheet.record if line.verdict and line.readings and not line.taken_back_by]
    changed_at = _frame_changed_at(sheet)
    outlived = standing[0] if standing and changed_at and standing[0].happened_at < changed_at else None
    if outlived:
        standing = []
    for line in (*standing, None):
        try:
            drawn = _draw(sheet, line, profile)
        except ReadingError:
            continue  # taken in under other rules; the record still shows it as it was typed
        if drawn is None:
            return None
        fit = drawn.fit.verdict.value if drawn.fit else ""
        return OpeningDrawing(drawn.svg, line, fit, _moves(drawn, profile), outlived)
    return None


def _frame_changed_at(sheet: OpeningSheet) -> datetime | None:
    """When the schedule last made the frame another one; `changes` are latest first."""
    made_another = (step.at for step in sheet.changes if any(_makes_another(fact) for fact in step.facts))
    return next(made_another, None)


def _makes_another(fact: ScheduleFact) -> bool:
    return fact.kind == ScheduleChange.Kind.CHANGED and fact.field in FRAME_IS_MADE_BY


def _draw(sheet: OpeningSheet, line: RecordLine | None, profile: ToleranceProfile) -> DrawnFrame | None:
    return frame_drawing(
        sheet.opening,
        line.readings if line else {},
        profile=profile,
        language=readers_language(),
        spreaders=not _spreaders_may_be_out(sheet.marked),
        anchors=True,
    )


def _spreaders_may_be_out(marked: Mapping[Mark, Collection[str]]) -> bool:
    """Once the frame is proved in its closed wall; where nothing needed here proves that, once the wall is closed."""
    if proofs := marked.get(Mark.PROVES_CLOSED_WALL, ()):
        return all(state == "done" for state in proofs)
    return finished(marked, Mark.CLOSES_WALL)


def _moves(drawn: DrawnFrame, profile: ToleranceProfile) -> tuple[str, ...]:
    if drawn.verdict is None or drawn.verdict.verdict is not Outcome.FAIL:
        return ()
    advice = advise(drawn.readings, opening=drawn.nominal, profile=profile, verdict=drawn.verdict)
    return tuple(spoken(move_in_words(move, drawn.nominal, profile.units)) for move in advice.moves)
