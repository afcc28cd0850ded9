"""The frame as one check found it, drawn to scale."""

from collections.abc import Mapping
from dataclasses import dataclass

from inspections.selectors.nominal import nominal_opening
from inspections.standards.anchors import Wall
from inspections.trueness.door_fit import DoorFit, door_fit
from inspections.trueness.drawing import NOTHING_READ, Sheet, draw_frame
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.leaf import design_leaf
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.takeoff import anchors_by
from inspections.trueness.verdict import Verdict, judge_readings
from openings.models import Opening
from sitetrack.kit.lengths import Length


@dataclass(frozen=True, slots=True)
class DrawnFrame:
    """The drawing as SVG text, and what it was drawn by; no verdict and no fit where nothing was read."""

    svg: str
    nominal: NominalOpening
    readings: Readings
    verdict: Verdict | None
    fit: DoorFit | None


def frame_drawing(
    opening: Opening,
    readings: Mapping[str, str],
    *,
    profile: ToleranceProfile,
    language: str,
    spreaders: bool = False,
    anchors: bool = False,
) -> DrawnFrame | None:
    """The opening as read, judged by the profile; as scheduled where there are no readings.

    None where its size is not known or can't be a door's. `anchors` draws them by the site's rule set where that
    speaks of the wall. Raises ReadingError for readings taken in under other rules, which can't be read any more.
    """
    nominal = nominal_opening(opening)
    if nominal is None or not nominal.door_sized:
        return None
    leaf = design_leaf(nominal, profile)
    read, verdict, fit = NOTHING_READ, None, None
    if readings:
        read = read_readings(readings, units=profile.units)
        verdict = judge_readings(read, opening=nominal, profile=profile)
        fit = door_fit(read, opening=nominal, leaf=leaf, profile=profile)
    hinges = plan_hinges(height=nominal.height, leaf_width=leaf.width).heights
    svg = draw_frame(
        Sheet(
            opening=nominal,
            readings=read,
            number=opening.number,
            hinges=hinges,
            anchors=_anchors(opening, nominal, profile, hinges) if anchors else (),
            spreaders=spreaders,
            verdict=verdict,
            fit=fit,
            units=profile.units,
            language=language,
        )
    )
    return DrawnFrame(svg, nominal, read, verdict, fit)


def _anchors(
    opening: Opening, nominal: NominalOpening, profile: ToleranceProfile, hinges: tuple[Length, ...]
) -> tuple[Length, ...]:
    kind = opening.wall.kind if opening.wall else ""
    if kind not in list(Wall):
        return ()
    return anchors_by(profile, nominal, Wall(kind), hinges).heights
