"""Totals add up, whatever was reported in whatever order. Properties; the sums are taken here, apart from the code."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from openings.models import Building, Floor, Opening
from openings.sequence.facts import Fact
from openings.sequence.plan_document import read_plan
from openings.sequence.stage import codes_by_mark
from sitetrack.kit.clock import to_ms
from sitetrack.reports.cases import case_of, listed_at
from sitetrack.reports.names import Names
from sitetrack.reports.opening_rows import Telling, change_rows, opening_row
from sitetrack.reports.totals import Totals
from sitetrack.reports.week import ReportClock, Week

PLAN_KEY = UUID(int=7)
PLAN = read_plan(json.loads(Path(settings.BASE_DIR, "fixtures/sequence_plans/steel_stud.json").read_text("utf-8")))
STAGES = [stage.code for stage in PLAN.stages]
CHECKS = {stage.code for stage in PLAN.stages if stage.kind == "check"}
FLOORS = [Floor(pk=UUID(int=n), code=f"L{n}", building=Building(code="A")) for n in (1, 2)]
CLOCK = ReportClock(ZoneInfo("America/Chicago"), 1, 5)
WEEK = Week(2026, 9)
LATER = datetime(2026, 6, 1, tzinfo=UTC)
FIRST = to_ms(CLOCK.cut_off(WEEK.shifted(-3)))
HOUR = 3_600_000
NAMES = Names(
    "en", {}, {}, {PLAN_KEY: "plan"}, {stage.code: stage.title.en for stage in PLAN.stages},
    {"plan": codes_by_mark(PLAN.stages)},
)  # fmt: skip


@st.composite
def facts(draw: st.DrawFn) -> list[Fact]:
    """Check-ins of one opening over four weeks: mostly in the order of work, some late, some voids, holds, failures."""
    found: list[Fact] = []
    at = FIRST + draw(st.integers(0, 200)) * HOUR
    for n in range(draw(st.integers(0, 14))):
        stage = STAGES[min(n, len(STAGES) - 1)] if draw(st.booleans()) else draw(st.sampled_from(STAGES))
        action = draw(st.sampled_from(["finish"] * 6 + ["start", "fail", "sign", "hold", "void", "release"]))
        at += draw(st.integers(0, 60)) * HOUR
        found.append(
            Fact(
                id=f"{n:03}",
                stage=stage,
                action=action,
                corrected=at,
                received=at + draw(st.sampled_from([0, 0, 0, 1, 100 * HOUR, 400 * HOUR])),
                about=draw(st.sampled_from(found)).id if found and action in ("sign", "void", "release") else None,
                verdict=draw(st.sampled_from(["pass", "pass", "fail"])) if stage in CHECKS else None,
                role=draw(st.sampled_from(["supervisor", "inspector", "crew"])),
                company=draw(st.sampled_from(["north", "south"])),
                person="someone",
            )
        )
    return found


LISTINGS = st.sampled_from([
    (),
    ((CLOCK.cut_off(WEEK.shifted(-1)) + timedelta(hours=1), "added"),),
    ((CLOCK.cut_off(WEEK.shifted(-2)), "added"), (CLOCK.cut_off(WEEK) - timedelta(hours=1), "missing")),
    ((CLOCK.cut_off(WEEK), "missing"), (LATER, "back")),
])  # fmt: skip
OPENINGS = st.lists(st.tuples(st.sampled_from(FLOORS), st.booleans(), facts(), LISTINGS), min_size=1, max_size=4)


def cases_and_totals(openings, week):
    period = CLOCK.period(week, LATER)
    totals = Totals(period)
    cases = []
    for n, (floor, electrified, own, listings) in enumerate(openings):
        opening = Opening(number=str(n), floor=floor, plan_id=PLAN_KEY, construction="welded", electrified=electrified)
        cases.append(case_of(opening, PLAN, own, period, listings=listings))
        totals.add(cases[-1])
    return cases, totals, Telling(period, NAMES, "imperial")


def added(tallies, moment, figure):
    return sum(getattr(tally, moment)[figure] for tally in tallies.values())


@effort(max_examples=60, deadline=None)
@given(OPENINGS)
def test_floors_trades_stages_and_companies_each_sum_to_the_site(openings):
    cases, totals, _ = cases_and_totals(openings, WEEK)
    for moment in ("now", "before"):
        site = getattr(totals.site, moment)
        for figure in ("openings", "finished", "on_hold", "failed", "awaiting_signature", "earned", "total"):
            assert added(totals.floors, moment, figure) == site[figure]
        for parts in (totals.trades, totals.stages):
            assert added(parts, moment, "earned") == site["earned"]
            assert added(parts, moment, "total") == site["total"]
        for figure in ("earned", "check_ins", "late", "holds_open"):
            assert added(totals.companies, moment, figure) == site[figure]
    assert totals.site.now["earned"] == sum(case.now.earned for case in cases if case.listed)
    assert totals.site.now["openings"] == sum(case.listed for case in cases)


@effort(max_examples=60, deadline=None)
@given(OPENINGS)
def test_last_week_and_its_change_make_this_week(openings):
    cases, totals, telling = cases_and_totals(openings, WEEK)
    changes = sum(row["earned_change"] for case in cases for row in change_rows(case, telling))
    assert totals.site.before["earned"] + changes == totals.site.now["earned"]
    rows = [opening_row(case, telling) for case in cases if case.listed]
    assert sum(row["earned"] for row in rows) == totals.site.now["earned"]
    assert sum(row["total"] for row in rows) == totals.site.now["total"]
    assert sum(row["finished"] for row in rows) == totals.site.now["finished"]


@effort(max_examples=60, deadline=None)
@given(OPENINGS)
def test_what_a_week_ends_with_the_next_begins_with(openings):
    _, this, _ = cases_and_totals(openings, WEEK)
    _, following, _ = cases_and_totals(openings, WEEK.shifted(1))
    assert +this.site.now == +following.site.before
    assert {k: +t.now for k, t in this.companies.items() if +t.now} == {
        k: +t.before for k, t in following.companies.items() if +t.before
    }
    assert {k: +t.now for k, t in this.stages.items() if +t.now} == {
        k: +t.before for k, t in following.stages.items() if +t.before
    }


@effort(max_examples=60, deadline=None)
@given(facts())
def test_every_check_in_counts_in_exactly_one_week(own):
    opening = [(FLOORS[0], True, own, ())]
    weeks = [WEEK.shifted(n) for n in range(-3, 8)]
    counted = [cases_and_totals(opening, week)[1].site.now["check_ins"] for week in weeks]
    assert sum(counted) == len(own)


def test_an_opening_is_listed_from_when_it_was_added_until_it_went_missing():
    def on(day):
        return datetime(2026, 3, day, tzinfo=UTC)

    story = [(on(3), "added"), (on(10), "missing"), (on(17), "back")]
    assert [listed_at(on(day), story, today=True) for day in (2, 4, 11, 18)] == [False, True, False, True]
    assert listed_at(on(2), [(on(10), "missing")], today=False)  # listed before anything was written down of it
    assert not listed_at(on(2), [], today=False)
