"""Least squares against numpy, and the suspect against the reading that was spoiled on purpose."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.trueness.opening import NominalOpening
from inspections.trueness.readings import read_readings
from inspections.trueness.reconciliation import adjust, find_contradictions
from sitetrack.kit.lengths import INCH, Length, from_inches

OPENING = NominalOpening(INCH * 36, INCH * 84)
EIGHTH = from_inches(Fraction(1, 8))
WIDTH, HEIGHT = 36.0, 84.0
DIAGONAL = math.hypot(WIDTH, HEIGHT)

# Unknowns: width at the floor, hinge lean, strike lean, rise of the head; written out from the drawing of the frame.
DESIGN = {
    "width_head": [1, -1, 1, 0],
    "width_floor": [1, 0, 0, 0],
    "diagonal_hinge_foot": [WIDTH / DIAGONAL, 0, WIDTH / DIAGONAL, HEIGHT / DIAGONAL],
    "diagonal_strike_foot": [WIDTH / DIAGONAL, -WIDTH / DIAGONAL, 0, -HEIGHT / DIAGONAL],
    "squareness": [0, WIDTH / HEIGHT, 0, 1],
    "head_level": [0, 0, 0, 1],
    "hinge_plumb_side": [0, 1, 0, 0],
    "strike_plumb_side": [0, 0, 1, 0],
}
BASE = {
    "width_head": WIDTH, "width_floor": WIDTH, "diagonal_hinge_foot": DIAGONAL, "diagonal_strike_foot": DIAGONAL,
}  # fmt: skip

errors = st.lists(st.floats(min_value=-0.5, max_value=0.5), min_size=8, max_size=8)


@given(st.sets(st.sampled_from(sorted(DESIGN)), min_size=1), errors)
@settings(deadline=None)
def test_residuals_are_those_of_numpy_least_squares(names: set[str], values: list[float]) -> None:
    taken = sorted(names | {"width_floor"}, key=list(DESIGN).index)
    readings = {name: BASE.get(name, 0.0) + value for name, value in zip(DESIGN, values, strict=True) if name in taken}
    readings["width_floor"] = WIDTH
    exact = {name: Length(round(value * INCH.nm)) for name, value in readings.items()}
    fit = adjust(exact, OPENING)
    matrix = np.array([DESIGN[name] for name in fit.names], dtype=float)
    observed = np.array([exact[name].nm / INCH.nm - BASE.get(name, 0.0) for name in fit.names])
    solution = np.linalg.lstsq(matrix, observed, rcond=None)[0]
    assert fit.residuals == pytest.approx(observed - matrix @ solution, abs=1e-9)
    assert fit.own_share == pytest.approx(np.diag(matrix @ np.linalg.pinv(matrix)), abs=1e-8)


def consistent(hinge: float, strike: float, floor: float, rise: float) -> dict[str, float]:
    return {
        "width_floor": floor,
        "width_head": floor + strike - hinge,
        "hinge_plumb_side": hinge,
        "strike_plumb_side": strike,
        "head_level": rise,
        "squareness": rise + hinge * WIDTH / HEIGHT,
        "diagonal_hinge_foot": math.hypot(floor + strike, HEIGHT + rise),
        "diagonal_strike_foot": math.hypot(floor - hinge, HEIGHT - rise),
    }


small = st.integers(min_value=-8, max_value=8).map(lambda part: part / 32)


@given(small, small, small, small)
@settings(deadline=None)
def test_readings_of_one_frame_agree(hinge: float, strike: float, across: float, rise: float) -> None:
    texts = {name: f"{value:.7f}" for name, value in consistent(hinge, strike, WIDTH + across, rise).items()}
    assert find_contradictions(read_readings(texts).lengths, OPENING, EIGHTH) == ()


@given(small, small, small, small, st.sampled_from(sorted(DESIGN)), st.sampled_from([-0.75, 0.75]))
@settings(deadline=None)
def test_spoiled_reading_is_the_suspect(
    hinge: float, strike: float, across: float, rise: float, spoiled: str, by: float
) -> None:
    values = consistent(hinge, strike, WIDTH + across, rise)
    values[spoiled] += by
    texts = {name: f"{value:.7f}" for name, value in values.items()}
    found = find_contradictions(read_readings(texts).lengths, OPENING, EIGHTH)
    assert found[0].reading == spoiled
    assert len(found) == 1
    assert float(found[0].off_by.inches) == pytest.approx(by, abs=0.02)
    assert found[0].read - found[0].others_say == found[0].off_by


@pytest.mark.parametrize(("off", "contradicts"), [("1/8", False), ("-1/8", False), ("9/64", True), ("-9/64", True)])
def test_directly_read_squareness_must_agree_within_an_eighth(off: str, contradicts: bool) -> None:
    """The limit is common practice: four readings each to the nearest 1/32 in."""
    readings = read_readings({"head_level": "0", "hinge_plumb_side": "0", "squareness": off})
    assert bool(find_contradictions(readings.lengths, OPENING, EIGHTH)) is contradicts


def test_one_condition_names_every_reading_that_could_be_wrong() -> None:
    readings = read_readings(
        {"width_head": "36 1/2", "width_floor": "36", "hinge_plumb_side": "0", "strike_plumb_side": "0"}
    )
    found = find_contradictions(readings.lengths, OPENING, EIGHTH)
    assert set(found[0].one_of) == {"width_head", "width_floor", "hinge_plumb_side", "strike_plumb_side"}


def test_two_mistakes_are_both_found() -> None:
    values = consistent(0, 0, WIDTH, 0)
    values["diagonal_hinge_foot"] += 1
    texts = {name: f"{value:.7f}" for name, value in values.items()}
    texts |= {"twist": "1/2", "hinge_plumb_face": "0", "strike_plumb_face": "0"}
    found = find_contradictions(read_readings(texts).lengths, OPENING, EIGHTH)
    assert {each.reading for each in found} == {"diagonal_hinge_foot", "twist"}


def test_readings_that_do_not_bind_each_other_never_contradict() -> None:
    readings = read_readings({"width_head": "40", "width_mid": "30", "head_level": "2", "twist": "1"})
    assert find_contradictions(readings.lengths, OPENING, EIGHTH) == ()
