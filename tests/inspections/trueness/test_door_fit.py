"""Door fit against shapely polygons, scipy rotations in space, and scipy.optimize.linprog for the best hanging."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation
from shapely import LineString, Point, Polygon

from inspections.trueness.best_hang import best_hang
from inspections.trueness.door_fit import Fit, Problem, door_fit
from inspections.trueness.leaf import Leaf, design_leaf
from inspections.trueness.opening import FootOn, NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.readings import Readings, read_readings
from inspections.trueness.swing import Hanging, SelfSwing, latch_corner, least_clearance
from sitetrack.kit.lengths import INCH, ZERO, Length, from_inches, parse_length

OPENING = NominalOpening(INCH * 36, INCH * 84)
LEAF = design_leaf(OPENING, DEFAULT_PROFILE)
WIDTH, HEIGHT, EDGE = 36.0, 84.0, 0.125


def parts(most: int) -> st.SearchStrategy[float]:
    return st.integers(min_value=-most, max_value=most).map(lambda count: count / 32)


def fit_of(values: dict[str, float | str], opening: NominalOpening = OPENING, leaf: Leaf = LEAF):  # type: ignore[no-untyped-def]
    texts = {name: value if isinstance(value, str) else f"{value:.7f}" for name, value in values.items()}
    return door_fit(read_readings(texts), opening=opening, leaf=leaf, profile=DEFAULT_PROFILE)


@given(parts(6), parts(6), parts(6), parts(6))
@settings(deadline=None)
def test_gaps_are_the_distances_between_leaf_and_frame(
    hinge: float, strike: float, across: float, level: float
) -> None:
    floor = WIDTH + across
    values = {
        "hinge_plumb_side": hinge,
        "strike_plumb_side": strike,
        "width_floor": floor,
        "width_head": floor + strike - hinge,
        "width_mid": floor + (strike - hinge) / 2,
        "head_level": level,
    }
    fit = fit_of(values)
    corner_hinge, corner_strike = np.array([hinge, HEIGHT]), np.array([floor + strike, HEIGHT + level])
    # Both carried on past the corner, so that a leaf past it is measured too.
    strike_jamb = LineString([(floor, 0), corner_strike * 2 - np.array([floor, 0])])
    head = LineString([corner_hinge - (corner_strike - corner_hinge), corner_strike * 2 - corner_hinge])
    up = np.array([hinge, HEIGHT]) / math.hypot(hinge, HEIGHT)
    across_leaf = np.array([up[1], -up[0]])
    width = float(LEAF.width.inches)
    top = corner_hinge - up * EDGE + across_leaf * EDGE
    corners = {
        "top_hinge": top,
        "top_latch": top + across_leaf * width,
    }
    for place, corner, edge in (
        ("strike_head", corners["top_latch"], strike_jamb),
        ("head_strike", corners["top_latch"], head),
        ("head_hinge", corners["top_hinge"], head),
    ):
        gap = float(fit.gaps[place].inches)
        if gap >= 0:
            # The head gap is asked for at the corner, which stands a gap past the leaf: 1/144 of the squareness.
            assert Point(corner).distance(edge) == pytest.approx(gap, abs=0.006), place


@given(parts(6), parts(6), parts(6))
@settings(deadline=None)
def test_leaf_binds_when_shapely_finds_it_outside_its_opening(hinge: float, strike: float, across: float) -> None:
    """Away from touching, a leaf that leaves the clear opening must be said to bind."""
    floor = WIDTH + across
    fit = fit_of(
        {
            "hinge_plumb_side": hinge,
            "strike_plumb_side": strike,
            "width_floor": floor,
            "squareness": hinge * WIDTH / HEIGHT,
        }
    )
    up = np.array([hinge, HEIGHT]) / math.hypot(hinge, HEIGHT)
    over = np.array([up[1], -up[0]])
    top = np.array([hinge, HEIGHT]) - up * EDGE + over * EDGE
    width, height = float(LEAF.width.inches), float(LEAF.height.inches)
    leaf = Polygon([top, top + over * width, top + over * width - up * height, top - up * height])
    # The opening runs on below the floor, where nothing holds a leaf.
    lower = -10 / HEIGHT
    clear = Polygon(
        [
            (hinge * lower, -10),
            (hinge, HEIGHT),
            (floor + strike, HEIGHT),
            (floor + strike * lower, -10),
        ]
    )
    outside = leaf.difference(clear).area
    if outside > 0.02 * height:
        assert fit.verdict is Fit.BINDS
    if fit.verdict is Fit.FREE:
        assert outside < 0.02 * height


@given(parts(16), parts(16), st.floats(min_value=0, max_value=180))
@settings(deadline=None)
def test_latch_corner_follows_a_rotation_in_space(side: float, face: float, degrees: float) -> None:
    """scipy.spatial: a leaf hung on a leaning axis, turned about it; y is up, z toward the pull side."""
    axis = np.array([side / HEIGHT, 1.0, face / HEIGHT])
    axis /= np.linalg.norm(axis)
    # Closed, the leaf points along x, square to its axis.
    closed = np.array([1.0, 0.0, 0.0]) - axis * axis[0]
    closed /= np.linalg.norm(closed)
    # Opening carries x toward z, which is a turn about minus y.
    turned = Rotation.from_rotvec(-axis * math.radians(degrees)).apply(closed * 35.75)
    hanging = Hanging(LEAF.width, OPENING.height, from_inches(side), from_inches(face), ZERO)
    assert latch_corner(hanging, degrees) / INCH.nm == pytest.approx(turned[1], abs=0.002)


rises = st.lists(
    st.tuples(st.integers(min_value=1, max_value=18).map(lambda tens: tens * 10.0), parts(20)),
    unique_by=lambda pair: pair[0],
    max_size=5,
).map(sorted)


@given(parts(16), parts(16), rises, st.sampled_from([0, 45, 90, 95, 180]))
@settings(deadline=None)
def test_least_floor_clearance_is_the_least_of_a_fine_walk(
    side: float, face: float, floor: list[tuple[float, float]], most: int
) -> None:
    """numpy: the clearance at every hundredth of a degree over the floor interpolated straight."""
    hanging = Hanging(LEAF.width, OPENING.height, from_inches(side), from_inches(face), from_inches(0.75))
    read = tuple((angle, from_inches(rise)) for angle, rise in floor)
    found = least_clearance(hanging, read, most)
    angles = np.linspace(0, most, 100 * most + 1)
    known = [(0.0, 0.0), *floor]
    under = np.interp(angles, [angle for angle, _ in known], [rise for _, rise in known])
    phi = np.radians(angles)
    clearance = 0.75 - 35.75 / HEIGHT * (side * np.cos(phi) + face * np.sin(phi)) - under
    assert float(found.clearance.inches) == pytest.approx(clearance.min(), abs=1e-4)
    assert np.interp(found.angle, angles, clearance) == pytest.approx(clearance.min(), abs=1e-3)


@given(parts(6), parts(6), parts(6), parts(6))
@settings(deadline=None)
def test_best_hanging_is_the_best_scipy_finds(head: float, mid: float, floor: float, squareness: float) -> None:
    """scipy.optimize.linprog: least worst deviation from 1/8 in over top, bottom and head shims."""
    readings = read_readings(
        {
            "width_head": f"{WIDTH + head:.7f}",
            "width_mid": f"{WIDTH + mid:.7f}",
            "width_floor": f"{WIDTH + floor:.7f}",
            "squareness": f"{squareness:.7f}",
        }
    )
    hung = best_hang(readings, opening=OPENING, leaf=LEAF, profile=DEFAULT_PROFILE)
    assert hung is not None
    turn = 35.75 / 83.125
    # Gap = constant + row . (top, bottom, head), every one wanted at 1/8.
    free = WIDTH - 35.75
    table = [
        (0.0, [1, 0, 0]),
        (0.0, [0, 1, 0]),
        (free + head, [-1, 0, 0]),
        (free + mid, [-0.5, -0.5, 0]),
        (free + floor, [0, -1, 0]),
        (0.0, [0, 0, 1]),
        (squareness, [turn, -turn, 1]),
    ]
    upper, bound = [], []
    for constant, row in table:
        upper += [[*row, -1], [*(-part for part in row), -1]]
        bound += [EDGE - constant, constant - EDGE]
    found = linprog([0, 0, 0, 1], A_ub=upper, b_ub=bound, bounds=[(None, None)] * 3 + [(0, None)])
    assert float(hung.worst_off.inches) == pytest.approx(found.fun, abs=1e-6)
    assert max(abs(float(gap.inches) - EDGE) for gap in hung.gaps.values()) == pytest.approx(found.fun, abs=1e-6)


def test_true_frame_takes_the_door_as_designed() -> None:
    fit = fit_of({"width_head": "36", "width_mid": "36", "width_floor": "36", "squareness": "0", "twist": "0"})
    assert fit.verdict is Fit.FREE
    assert set(fit.gaps.values()) == {parse_length("1/8")}
    assert fit.troubles == ()
    assert fit.floor_at_rest == parse_length("3/4")


@pytest.mark.parametrize(("face", "swings"), [("1/16", "opens"), ("-1/16", "closes"), ("0", "rests")])
def test_hinge_jamb_leaning_to_the_pull_side_opens_the_door(face: str, swings: str) -> None:
    assert fit_of({"hinge_plumb_face": face}).self_swing is SelfSwing(swings)


@pytest.mark.parametrize(
    ("twist", "misfit", "first", "verdict"),
    [
        ("1/16", "0", "stop_strike_head", Fit.FREE),
        ("3/16", "1/8", "stop_strike_head", Fit.BINDS),
        ("-3/16", "1/8", "stop_strike_floor", Fit.BINDS),
        ("0", "0", None, Fit.FREE),
    ],
)
def test_twist_past_the_stop_clearance_keeps_the_leaf_off_its_stop(
    twist: str, misfit: str, first: str | None, verdict: Fit
) -> None:
    """Leaf to stop 1/16 in, SDI A250.8 (memory)."""
    fit = fit_of({"twist": twist})
    assert (fit.stop_misfit, fit.stop_touches_first, fit.verdict) == (parse_length(misfit), first, verdict)


def test_rising_floor_drags_at_its_angle() -> None:
    texts = {"hinge_plumb_face": "0", "floor_rise": [[0, "0"], [60, "7/8"], [90, "1/2"]]}
    fit = door_fit(read_readings(texts), opening=OPENING, leaf=LEAF, profile=DEFAULT_PROFILE)
    assert fit.verdict is Fit.DRAGS
    assert fit.floor_least.angle == 60
    assert fit.floor_least.clearance == parse_length("-1/8")
    drags = next(trouble for trouble in fit.troubles if trouble.problem is Problem.DRAGS)
    assert drags.by == parse_length("1/8")


def test_covering_takes_from_the_clearance_unless_the_foot_is_set_to_it() -> None:
    slab = replace(OPENING, covering=parse_length("1/2"))
    finish = replace(slab, foot_on=FootOn.FINISH)
    assert fit_of({}, slab).floor_at_rest == parse_length("1/4")
    assert fit_of({}, finish).floor_at_rest == parse_length("3/4")
    assert fit_of({"foot_gap_hinge": "1/4"}, slab).floor_at_rest == parse_length("1/2")


def test_what_was_not_read_is_named_as_assumed() -> None:
    assert "twist" in fit_of({"width_head": "36"}).assumed
    known = {"hinge_plumb_side": "0", "strike_plumb_side": "1/16", "width_floor": "36"}
    fit = fit_of(known)
    assert fit.gaps["strike_head"] == parse_length("3/16")
    assert "width_head" not in fit.assumed


@given(parts(4), parts(4), parts(4))
@settings(deadline=None)
def test_pair_gaps_are_the_same_from_either_jamb(hinge: float, strike: float, level: float) -> None:
    """A pair looked at from its other jamb is the same pair: what leans toward the strike leans toward the hinges."""
    pair = NominalOpening(INCH * 72, INCH * 84, leaves=2)
    leaf = design_leaf(pair, DEFAULT_PROFILE)

    def gaps(a: float, b: float, rise: float) -> dict[str, Length]:
        values = {"hinge_plumb_side": a, "strike_plumb_side": b, "width_floor": 72.0, "head_level": rise}
        return fit_of(values, pair, leaf).gaps

    one, other = gaps(hinge, strike, level), gaps(-strike, -hinge, -level)
    for here, there in (
        ("head_meeting", "head_meeting_second"),
        ("head_meeting_second", "head_meeting"),
        ("meeting_head", "meeting_head"),
        ("meeting_floor", "meeting_floor"),
    ):
        assert one[here].nm == pytest.approx(other[there].nm, abs=3)


def test_pair_as_designed_meets_with_its_gap() -> None:
    pair = NominalOpening(INCH * 72, INCH * 84, leaves=2, rating_minutes=90)
    leaf = design_leaf(pair, DEFAULT_PROFILE)
    fit = fit_of({"width_head": "72", "width_floor": "72", "squareness": "0"}, pair, leaf)
    assert fit.gaps["meeting_head"] == fit.gaps["meeting_floor"] == parse_length("1/8")
    assert fit.verdict is Fit.FREE
    assert best_hang(Readings(), opening=pair, leaf=leaf, profile=DEFAULT_PROFILE) is None


@pytest.mark.parametrize(("lean", "drops"), [("-1/2", True), ("1/2", False)])
def test_second_leaf_drops_when_its_jamb_leans_into_the_opening(lean: str, drops: bool) -> None:
    """Latch corner lower by w/H of the lean, arithmetic of a leaf square to its jamb."""
    pair = NominalOpening(INCH * 72, INCH * 84, leaves=2)
    leaf = design_leaf(pair, DEFAULT_PROFILE)
    fit = fit_of({"strike_plumb_side": lean, "hinge_plumb_side": "0", "width_floor": "72"}, pair, leaf)
    lowered = 0.5 * float(leaf.width.inches) / HEIGHT
    assert float(fit.floor_least.clearance.inches) == pytest.approx(0.75 - (lowered if drops else 0), abs=1e-6)
