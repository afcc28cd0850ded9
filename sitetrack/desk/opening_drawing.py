"""The opening's drawing to scale, what its last readings come to at the door, and how to put the frame right."""

from dataclasses import dataclass

from django.utils.translation import get_language

from inspections.selectors.nominal import nominal_opening
from inspections.selectors.opening_record import OpeningSheet, RecordLine
from inspections.standards.anchors import Wall
from inspections.trueness.advice import advise
from inspections.trueness.door_fit import DoorFit, door_fit
from inspections.trueness.drawing import NOTHING_READ, Sheet, draw_frame
from inspections.trueness.errors import ReadingError
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.leaf import design_leaf
from inspections.trueness.move_words import move_in_words
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.takeoff import anchors_by
from inspections.trueness.verdict import Outcome, Verdict, judge_readings
from openings.models import Opening
from sitetrack.desk.words import spoken
from sitetrack.kit.lengths import Length


@dataclass(frozen=True, slots=True)
class OpeningDrawing:
    """The drawing as SVG text; `reading` is the check-in it shows the frame by, `moves` what would make it true."""

    svg: str
    reading: RecordLine | None
    fit: str
    moves: tuple[str, ...]


def opening_drawing(sheet: OpeningSheet) -> OpeningDrawing | None:
    """Draw the opening by its last standing reading; None where its size is not known or can't be a door's."""
    nominal = nominal_opening(sheet.opening)
    if nominal is None or not nominal.door_sized:
        return None
    profile = ToleranceProfile.from_dict(sheet.profile)
    line, readings = _last_reading(sheet, profile)
    verdict = fit = None
    moves: tuple[str, ...] = ()
    if line:
        verdict = judge_readings(readings, opening=nominal, profile=profile)
        fit = door_fit(readings, opening=nominal, leaf=design_leaf(nominal, profile), profile=profile)
        moves = _moves(readings, nominal, profile, verdict)
    hinges = plan_hinges(height=nominal.height, leaf_width=design_leaf(nominal, profile).width).heights
    svg = draw_frame(
        Sheet(
            opening=nominal,
            readings=readings,
            number=sheet.opening.number,
            hinges=hinges,
            anchors=_anchors(sheet.opening, nominal, profile, hinges),
            spreaders=sheet.states.get("recheck") != "done",
            verdict=verdict,
            fit=fit,
            units=profile.units,
            language=(get_language() or "en")[:2],
        )
    )
    return OpeningDrawing(svg, line, _fit(fit), moves)


def _last_reading(sheet: OpeningSheet, profile: ToleranceProfile) -> tuple[RecordLine | None, Readings]:
    for line in sheet.record:
        if line.verdict and line.readings and not line.taken_back_by:
            try:
                return line, read_readings(line.readings, units=profile.units)
            except ReadingError:
                continue  # taken in under other rules; the record still shows it as it was typed
    return None, NOTHING_READ


def _moves(readings: Readings, nominal: NominalOpening, profile: ToleranceProfile, verdict: Verdict) -> tuple[str, ...]:
    if verdict.verdict is not Outcome.FAIL:
        return ()
    advice = advise(readings, opening=nominal, profile=profile, verdict=verdict)
    return tuple(spoken(move_in_words(move, nominal, profile.units)) for move in advice.moves)


def _anchors(
    opening: Opening, nominal: NominalOpening, profile: ToleranceProfile, hinges: tuple[Length, ...]
) -> tuple[Length, ...]:
    """Heights by the site's rule set where it speaks of the wall; none where the wall is not known."""
    kind = opening.wall.kind if opening.wall else ""
    if kind not in list(Wall):
        return ()
    return anchors_by(profile, nominal, Wall(kind), hinges).heights


def _fit(fit: DoorFit | None) -> str:
    return "" if fit is None else fit.verdict.value
