"""The frame as one check found it, drawn to scale."""

from collections.abc import Mapping

from inspections.selectors.nominal import nominal_opening
from inspections.services.profiles import prepared_profile
from inspections.trueness.door_fit import door_fit
from inspections.trueness.drawing import NOTHING_READ, Sheet, draw_frame
from inspections.trueness.errors import ReadingError
from inspections.trueness.hinges import plan_hinges
from inspections.trueness.leaf import design_leaf
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.readings import read_readings
from inspections.trueness.verdict import judge_readings
from openings.models import Opening


def frame_drawing(
    opening: Opening, readings: Mapping[str, str], *, profile_id: object | None, language: str
) -> str | None:
    """SVG of the opening as read, judged by the profile of that check; as scheduled where there are no readings.

    None where the opening's size is not known, can't be a door's, or the readings can't be read any more.
    """
    nominal = nominal_opening(opening)
    if nominal is None or not nominal.door_sized:
        return None
    profile = prepared_profile(profile_id) if profile_id else ToleranceProfile()
    leaf = design_leaf(nominal, profile)
    read, verdict, fit = NOTHING_READ, None, None
    if readings:
        try:
            read = read_readings(readings, units=profile.units)
        except ReadingError:
            return None
        verdict = judge_readings(read, opening=nominal, profile=profile)
        fit = door_fit(read, opening=nominal, leaf=leaf, profile=profile)
    hinges = plan_hinges(height=nominal.height, leaf_width=leaf.width).heights
    return draw_frame(
        Sheet(
            opening=nominal,
            readings=read,
            number=opening.number,
            hinges=hinges,
            verdict=verdict,
            fit=fit,
            spreaders=False,
            units=profile.units,
            language=language,
        )
    )
