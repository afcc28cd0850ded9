"""Forecasts: held against simulated crews whose rates are known, and against independent figures."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.forecast.back_test import back_test
from inspections.forecast.job import WEEK, Job, Step
from inspections.forecast.outlook import outlook
from inspections.forecast.past_weeks import past_weeks
from inspections.forecast.planned import planned_by
from inspections.forecast.runs import run_on
from inspections.forecast.spread import INTERVAL, quantile, widening

MONDAY = date(2026, 3, 2)
JOBS, LENGTH, AGE = 60, 40, 5


def one_crew(rng: np.random.Generator, openings: int, rate: float) -> Job:
    """A crew of one trade that does `rate` openings a week, give or take three tenths, over five days."""
    done = np.zeros((1, 1, LENGTH * WEEK), dtype=np.int64)
    for week in range(LENGTH):
        count = round(rng.gamma(1 / 0.09, rate * 0.09))
        for day in range(5):
            done[0, 0, week * WEEK + day] = count * (day + 1) // 5 - count * day // 5
    over = np.maximum(done.cumsum(axis=2) - openings, 0)
    done -= np.diff(over, axis=2, prepend=0)
    return Job((Step("p", "set", "frame_crew", 1),), ("L1",), np.array([[openings]]), done, MONDAY)


def test_the_interval_holds_about_eight_of_ten_ends_of_a_crew_with_known_rates(
    capsys: pytest.CaptureFixture[str],
) -> None:
    rng = np.random.default_rng(7)
    within = 0
    for number in range(JOBS):
        job = one_crew(rng, 400, 30)
        happened = int(np.flatnonzero(job.done[0, 0])[-1]) - AGE * WEEK
        then = job.as_on(AGE * WEEK)
        days = sorted(run_on(then, past_weeks(then), runs=400, seed=number).finished[0, :, 0])
        within += quantile(days, 0.1) <= happened <= quantile(days, 0.9)
    with capsys.disabled():
        print(f"\nends within the 80 % interval: {within} of {JOBS}")  # noqa: T201 - the figure measured
    # Four standard deviations of a share of 60 are 0.2.
    assert 0.6 <= within / JOBS <= 0.98


@given(st.lists(st.integers(-50, 50), min_size=1, max_size=60), st.sampled_from([0.1, 0.5, 0.9]))
def test_quantiles_are_those_of_an_independent_library(values: list[int], share: float) -> None:
    assert quantile(sorted(values), share) == np.quantile(values, share, method="inverted_cdf")


@pytest.mark.parametrize("weeks", [2, 4, 5, 12, 200])
def test_draws_are_spread_by_students_t_as_scipy_has_it(weeks: int) -> None:
    independent = stats.t.ppf(0.5 + INTERVAL / 2, weeks - 1) / stats.norm.ppf(0.5 + INTERVAL / 2)
    assert widening(weeks) == pytest.approx(independent * (weeks / (weeks - 1)) ** 0.5, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 40), st.integers(0, 40), st.integers(0, 40), st.integers(0, 1000))
def test_no_trade_is_through_before_what_it_waits_for(first: int, second: int, third: int, seed: int) -> None:
    steps = (Step("p", "a", "x", 1), Step("p", "b", "y", 2, (0,)), Step("p", "c", "x", 1, (0, 1)))
    needed = np.array([[first], [second], [third]])
    done = np.zeros((3, 1, 4 * WEEK), dtype=np.int64)
    job = Job(steps, ("L1",), needed + 4, done, MONDAY)
    done[:, 0, ::WEEK] = 1
    ends = run_on(job, past_weeks(job), runs=50, seed=seed).finished[:, :, 0]
    # What was reported done out of order before today stays as it was reported; -1 stands for it.
    assert (ends[1] >= ends[0])[ends[1] >= 0].all()
    assert (ends[2] >= ends[:2].max(axis=0))[ends[2] >= 0].all()


def test_the_same_seed_draws_the_same_and_young_jobs_are_told_nothing() -> None:
    job = one_crew(np.random.default_rng(1), 400, 30)
    then = job.as_on(AGE * WEEK)
    assert outlook(then, seed=3) == outlook(then, seed=3)
    assert outlook(job.as_on(3 * WEEK + 6), seed=3).site is None
    told = outlook(then, seed=3, due={"L1": MONDAY}).floors[0]
    assert told.finished.range is not None
    assert told.finished.range.low <= told.finished.range.median <= told.finished.range.high  # type: ignore[operator]


def test_a_trade_without_weeks_behind_it_is_named_and_no_date_is_made_up() -> None:
    steps = (Step("p", "a", "x", 1), Step("p", "b", "hanger", 1, (0,)))
    done = np.zeros((2, 1, 5 * WEEK), dtype=np.int64)
    done[0, 0, ::WEEK] = 2
    told = outlook(Job(steps, ("L1",), np.array([[20], [20]]), done, MONDAY), seed=1)
    assert told.few == {"hanger": 0}
    assert told.floors[0].finished.range is None
    assert told.floors[0].finished.untold == ("hanger",)


def test_a_back_test_leaves_out_what_had_nothing_left() -> None:
    job = one_crew(np.random.default_rng(1), 60, 30).as_on(10 * WEEK)
    assert {one.stood_on for one in back_test(job, seed=1, runs=100)} <= {date(2026, 3, 16), date(2026, 3, 23)}


def test_planned_comes_to_the_whole_at_a_floors_date_and_to_half_midway() -> None:
    due = date(2026, 3, 11)
    assert planned_by(due, MONDAY, [(80, due), (50, None)]) == 80
    assert planned_by(date(2026, 3, 6), MONDAY, [(80, due)]) == 40
    assert planned_by(date(2026, 3, 1), MONDAY, [(80, due)]) == 0
