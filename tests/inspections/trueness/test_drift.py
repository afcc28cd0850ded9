"""Drift against scipy.stats, and its honesty about small numbers."""

from fractions import Fraction
from statistics import fmean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.trueness.drift import FEW, BeforeAfter, drift_of, mean_interval, share_of
from inspections.trueness.opening import NominalOpening
from inspections.trueness.profile import DEFAULT_PROFILE
from inspections.trueness.readings import read_readings
from inspections.trueness.student_t import incomplete_beta, t_quantile
from sitetrack.kit.lengths import INCH, parse_length

OPENING = NominalOpening(INCH * 36, INCH * 84)


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95, 0.99, 0.999])
@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 9, 29, 100, 5000])
def test_quantiles_of_t_are_those_of_scipy(confidence: float, degrees: int) -> None:
    assert t_quantile(confidence, degrees) == pytest.approx(stats.t.ppf((1 + confidence) / 2, degrees), rel=1e-10)


@pytest.mark.parametrize(
    ("degrees", "table"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042), (120, 1.980)]
)
def test_quantiles_of_t_are_those_of_the_printed_table(degrees: int, table: float) -> None:
    """The 95 % two-sided column of the t table printed in statistics handbooks."""
    assert t_quantile(0.95, degrees) == pytest.approx(table, abs=0.0005)


@given(st.floats(0, 1), st.floats(0.5, 50), st.floats(0.5, 50))
def test_incomplete_beta_stays_a_probability(x: float, a: float, b: float) -> None:
    assert 0 <= incomplete_beta(x, a, b) <= 1


@pytest.mark.parametrize(("confidence", "degrees"), [(0, 5), (1, 5), (0.95, 0)])
def test_quantile_of_nothing_is_refused(confidence: float, degrees: int) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        t_quantile(confidence, degrees)


@given(st.lists(st.integers(-64, 64), min_size=2, max_size=40).filter(lambda values: len(set(values)) > 1))
@settings(deadline=None)
def test_interval_of_a_mean_is_that_of_scipy(values: list[int]) -> None:
    low, high = mean_interval(values) or (0, 0)
    expected = stats.t.interval(0.95, len(values) - 1, loc=fmean(values), scale=stats.sem(values))
    assert (low, high) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(st.integers(1, 200).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
@settings(deadline=None)
def test_interval_of_a_share_is_wilsons_as_scipy_has_it(share: tuple[int, int]) -> None:
    found = share_of(*share)
    expected = stats.binomtest(*share).proportion_ci(0.95, method="wilson")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)


def pair(number: str, before: str, after: str, crew: str = "A") -> BeforeAfter:
    return BeforeAfter(
        number,
        crew,
        "steel_stud",
        OPENING,
        read_readings({"hinge_plumb_side": before, "twist": "0"}),
        read_readings({"hinge_plumb_side": after}),
    )


def test_one_pair_has_no_interval_and_says_nothing_for_certain() -> None:
    drift = drift_of([pair("1", "0", "1/8")], DEFAULT_PROFILE)[0]
    assert (drift.pairs, drift.low, drift.high, drift.few, drift.certain) == (1, None, None, True, False)


def test_share_pushed_out_counts_only_what_was_in_before() -> None:
    pairs = [pair("1", "0", "1/8"), pair("2", "0", "1/16"), pair("3", "1/8", "1/4")]
    drift = drift_of(pairs, DEFAULT_PROFILE)[0]
    assert (drift.pushed_out.out, drift.pushed_out.of) == (1, 2)
    assert drift.pushed_out.high is not None
    assert drift.pushed_out.high > 0.9
    assert drift.mean == parse_length("0.1041666667")


def test_only_what_was_read_both_times_is_compared() -> None:
    assert [drift.measure for drift in drift_of([pair("1", "0", "0")], DEFAULT_PROFILE)] == ["hinge_plumb_side"]
    assert drift_of([], DEFAULT_PROFILE) == []


def test_steady_push_by_one_crew_is_told_apart_from_the_other() -> None:
    leaning = [pair(str(i), "0", str(Fraction(2 + i % 2, 32)), "A") for i in range(FEW)]
    steady = [pair(str(i), "0", f"{'-' if i % 2 else ''}1/32", "B") for i in range(FEW)]
    groups = {"A": drift_of(leaning, DEFAULT_PROFILE), "B": drift_of(steady, DEFAULT_PROFILE)}
    assert groups["A"][0].certain
    assert not groups["A"][0].few
    assert not groups["B"][0].certain
