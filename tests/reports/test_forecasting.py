"""Forecasts kept: once for the same input, each morning on the site's own clock; and the command that prints one."""

from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inspections.forecast.outlook import outlook
from inspections.selectors.weekly_progress import count_site, job_from
from openings.models import Floor, Site
from sitetrack.access.models import Company, Membership
from sitetrack.access.roles import Role
from sitetrack.demo.bench.weeks_of_work import weeks_of_work
from sitetrack.reports import tasks
from sitetrack.reports.forecasting import (
    KEPT_FOR,
    latest_forecast,
    make_forecast,
    seed_of,
    sites_without_todays,
)
from sitetrack.reports.management.commands import forecast as command
from sitetrack.reports.models import Forecast
from tests import builders as make

pytestmark = pytest.mark.django_db

MORNING = make.MONDAY  # 8 in the morning of 2 March on the site
TODAY = date(2026, 3, 2)
FEW = 200  # runs: enough where no figure is judged


@pytest.fixture
def site() -> Site:
    """Six weeks of work on forty openings."""
    site = make.site("clinic", now=MORNING - timedelta(weeks=8))
    weeks_of_work(site, 40, today=TODAY, weeks=6, floors=2, by=Company.objects.get(memberships__site=site))
    return site


def test_the_same_input_is_forecast_once_and_anything_else_anew(site: Site) -> None:
    first = make_forecast(site=site, now=MORNING, runs=FEW)
    assert make_forecast(site=site, now=MORNING + make.MINUTE, runs=FEW) == first
    assert (first.as_of, first.told["weeks"], first.told["seed"]) == (TODAY, 6, seed_of(first.digest))
    Floor.objects.filter(site=site, code="L1").update(due_on=TODAY + timedelta(days=90))
    redated = make_forecast(site=site, now=MORNING + make.MINUTE, runs=FEW)
    nextday = make_forecast(site=site, now=MORNING + make.DAY, runs=FEW)
    assert len({first.digest, redated.digest, nextday.digest}) == 3
    assert latest_forecast(site, make.supervisor(site)) == nextday


def test_what_is_kept_is_what_the_core_tells(site: Site) -> None:
    kept = make_forecast(site=site, now=MORNING, runs=FEW)
    counted = count_site(site)
    job = job_from(counted, TODAY)
    assert job is not None
    due = {str(floor.pk): floor.due_on for floor in counted.floors}
    told = outlook(job, seed=kept.told["seed"], runs=kept.told["runs"], due=due, ends=site.ends_on)
    assert told.site is not None
    assert told.site.range is not None
    assert kept.told["site"]["range"]["median"] == told.site.range.median.isoformat()  # type: ignore[union-attr]
    for floor, stored in zip(told.floors, kept.told["floors"], strict=True):
        assert stored["due_on"] == str(due[floor.floor])
        assert stored["proved"]["done"] == floor.proved.done
        if floor.proved.range:
            assert stored["proved"]["range"]["chance"] == floor.proved.range.chance
    bands = {(band["of"], band["key"]): band["points"] for band in kept.told["bands"]}
    assert bands.keys() == told.bands.keys()
    assert [point[2] for point in bands["site", ""]] == [point.median for point in told.bands["site", ""]]
    whole = float((job.needed * job.weights).sum())
    assert bands["site", ""][-1][1:] == [whole] * 3
    tried = kept.told["back_test"]
    assert tried["stood"] == 4  # of six weeks, those with two before them and one after
    assert all(0 <= within <= of for within, of in tried["shares"].values())


def test_a_forecast_is_owed_once_a_day_from_three_on_the_sites_clock(site: Site) -> None:
    make.site("empty", now=MORNING)
    before_three = MORNING.replace(hour=8)  # 2 in Chicago
    assert sites_without_todays(before_three) == []
    assert sites_without_todays(MORNING) == [site]
    make_forecast(site=site, now=MORNING, runs=FEW)
    assert sites_without_todays(MORNING + timedelta(hours=5)) == []
    assert sites_without_todays(MORNING + make.DAY) == [site]


def test_the_task_run_twice_keeps_one(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tasks, "now", lambda: MORNING)
    tasks.forecasts_due()
    tasks.forecasts_due()
    tasks.forecast_site(site.pk)
    assert Forecast.objects.filter(site=site).count() == 1


def test_old_forecasts_are_let_go_when_a_new_one_is_made(site: Site) -> None:
    for n, back in enumerate((KEPT_FOR, KEPT_FOR + make.DAY)):
        Forecast.objects.create(site=site, as_of=TODAY - back, made_at=MORNING, digest=f"{n:064x}", told={})
    make_forecast(site=site, now=MORNING, runs=FEW)
    assert sorted(Forecast.objects.values_list("as_of", flat=True)) == [TODAY - KEPT_FOR, TODAY]


def test_before_any_work_it_is_kept_that_nothing_can_be_told() -> None:
    site = make.site()
    make.opening(site)
    kept = make_forecast(site=site, now=MORNING)
    assert (kept.told["weeks"], kept.told["site"], kept.told["bands"]) == (0, None, [])
    assert sites_without_todays(MORNING) == []


def test_a_crew_sees_no_forecast(site: Site) -> None:
    hand = make.crew(site)
    make_forecast(site=site, now=MORNING, runs=FEW)
    assert latest_forecast(site, hand) is None
    Membership.objects.filter(person=hand).update(role=Role.VIEWER)
    assert latest_forecast(site, hand) is not None


def test_the_command_prints_ranges_and_a_back_test(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command, "now", lambda: MORNING)
    out = StringIO()
    call_command("forecast", site="clinic", back_test=True, stdout=out)
    said = out.getvalue()
    assert "6 whole weeks past, 2000 runs" in said
    assert "A, L0" in said
    assert "made in" in said
    assert "Within the 80 % interval, in all:" in said
    call_command("forecast", site="clinic", stdout=(again := StringIO()))
    assert said.startswith(again.getvalue())  # the same seed draws the same weeks, and nothing was stored
    assert not Forecast.objects.exists()


@pytest.mark.parametrize(
    ("asked", "said"),
    [({"site": "nowhere"}, "no site has the code"), ({"site": "clinic", "runs": 10}, "--runs: expected 2000 to")],
)
def test_the_command_names_what_was_wrong(site: Site, asked: dict[str, object], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("forecast", **asked)
