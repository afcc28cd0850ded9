"""Sheet F-12: the curve and its table, the weeks of the companies, first readings, the kept forecast; who sees what."""

import re
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.selectors.weekly_progress import count_site
from openings.models import Site
from sitetrack.access.models import Company
from sitetrack.demo.bench.weeks_of_work import weeks_of_work
from sitetrack.desk import sheets
from sitetrack.desk.progress_curve import Part, curve_of
from sitetrack.desk.progress_drawing import draw_curve
from sitetrack.reports import tasks
from sitetrack.reports.forecasting import make_forecast
from sitetrack.reports.models import Forecast
from tests import builders as make
from tests.desk.looking import signed_in, words

pytestmark = pytest.mark.django_db

TODAY = make.MONDAY.date()
FEW = 200
PAGE = "/s/clinic/progress"


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "read_clock", lambda: make.MONDAY)
    monkeypatch.setattr(tasks, "now", lambda: make.MONDAY)


@pytest.fixture
def worked(job: Site) -> Site:
    """Six weeks of work of the supervisor's company."""
    weeks_of_work(job, 40, today=TODAY, weeks=6, floors=2, by=Company.objects.get(memberships__site=job))
    return job


def rows_of(page: Any, title: str) -> list[list[str]]:
    """The cells of the table with this caption or heading in it."""
    (table,) = [t for t in re.findall(r"<table.*?</table>", page.content.decode(), re.DOTALL) if title in t]
    found = re.findall(r"<tr>.*?</tr>", table, re.DOTALL)
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in found]
    return [[re.sub(r"<[^>]+>|\s+", " ", cell).strip() for cell in row] for row in cells]


def test_a_job_without_weeks_says_what_is_missing(job: Site, desk: Client) -> None:
    make.opening(job)
    said = words(desk.get(PAGE))
    assert "No forecast has been made yet" in said
    assert "Nothing was done here before today" in said
    assert "No frame has been read yet." in said
    make_forecast(site=job, now=make.MONDAY)
    said = words(desk.get(PAGE))
    assert "Not enough weeks yet: 0 whole weeks of work have gone by, and a forecast needs 4." in said
    assert "How such forecasts would have done" not in said


def test_the_table_under_the_curve_is_the_recounted_share(worked: Site, desk: Client) -> None:
    make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    counted = count_site(worked)
    weight = {s["code"]: s.get("weight", 1) for s in worked.plans.get(code="steel_stud", current=True).stages}
    total = sum(weight[stage] * n for (_plan, stage, _floor), n in counted.needed.items())
    rows = rows_of(desk.get(PAGE), "A tenth of the runs")[1:]
    told = {row[0]: row for row in rows}
    for back in range(4):
        day = TODAY - timedelta(days=1 + 7 * back)
        done = sum(weight[each.stage] * each.count for each in counted.done if each.day <= day)
        assert float(told[f"{day:%-d %b %Y}"][2]) == pytest.approx(done * 100 / total, abs=0.051)
    assert rows[-1][2] == "–"
    assert rows[-1][3:] == ["100.0"] * 3
    # Every floor has a date, so what is planned comes to the whole by the last of them.
    last = max(floor.due_on for floor in counted.floors if floor.due_on)
    beyond = [row for row in rows if _day(row[0]) >= last]
    assert beyond
    assert {row[1] for row in beyond} == {"100.0"}


def test_a_trade_or_a_floor_is_chosen_in_the_address(worked: Site, desk: Client) -> None:
    make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    floor = str(count_site(worked).floors[0].pk)
    whole = desk.get(PAGE)
    for asked, name in (("trade:drywall", "Drywall"), (f"floor:{floor}", "L0")):
        page = desk.get(f"{PAGE}?of={asked}")
        assert f"Planned, done, forecast: {name}" in words(page)
        assert rows_of(page, "A tenth of the runs") != rows_of(whole, "A tenth of the runs")
    assert "Planned, done, forecast: the whole site" in words(desk.get(f"{PAGE}?of=floor:nonsense"))


def test_floors_are_told_with_their_day_their_range_and_their_chance(worked: Site, desk: Client) -> None:
    kept = make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    rows = rows_of(desk.get(PAGE), "Every frame proved")[1:]
    for row, told in zip(rows, kept.told["floors"], strict=True):
        assert _day(row[1]) == date.fromisoformat(told["due_on"])
        median = told["finished"]["range"] and told["finished"]["range"]["median"]
        assert (f"{date.fromisoformat(median):%-d %b %Y}" in row[4]) if median else "Done." in row[4]
    said = words(desk.get(PAGE))
    assert str(kept.told["seed"]) in said
    assert f"{kept.told['runs']}" in said
    for kind in kept.told["back_test"]["shares"].values():
        assert f"{kind[0]} of {kind[1]}" in said


def test_weeks_of_a_company_are_counted_and_a_crew_sees_its_own_only(worked: Site, desk: Client) -> None:
    firm = make.company("Sable Framing")
    hand = make.crew(worked, company_=firm)
    for opening in make.openings(worked, 3):
        make.frame_check(hand, opening, at=make.MONDAY - make.DAY * 3)
        make.check_in(hand, opening, at=make.MONDAY - make.DAY * 3)
    make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    rows = {row[0]: row[1:] for row in rows_of(desk.get(PAGE), "In all")}
    assert len(rows) == 3
    own = rows["Sable Framing"]
    assert [own[-1], own[-3]] == ["3", "3"]  # the last column but one is the week still running
    page = signed_in(hand).get(PAGE)
    assert list(rows_of(page, "In all")[1]) == ["Sable Framing", *own]
    assert len(rows_of(page, "In all")) == 2
    said = words(page)
    assert "The figures of all companies are not shown to a crew." in said
    assert "forecast" not in said.lower()
    assert "0 of 3" in said or "3 of 3" in said


def test_forecast_now_makes_one_and_pressed_again_says_it_stands(worked: Site, desk: Client) -> None:
    page = desk.post(f"{PAGE}/again", follow=True)
    assert "Forecast again." in words(page)
    page = desk.post(f"{PAGE}/again", {"back": f"{PAGE}?of=trade:drywall"}, follow=True)
    assert "Nothing has changed since the last forecast" in words(page)
    assert "Planned, done, forecast: Drywall" in words(page)
    assert Forecast.objects.count() == 1
    refused = signed_in(make.crew(worked)).post(f"{PAGE}/again", follow=True)
    assert "The figures of all companies are not shown to a crew." in words(refused)


def test_the_page_asks_as_much_of_forty_openings_as_of_four(job: Site) -> None:
    costs = []
    for count in (4, 40):
        site = make.site(now=make.MONDAY)
        weeks_of_work(site, count, today=TODAY, weeks=6, floors=count // 4, by=make.company())
        make_forecast(site=site, now=make.MONDAY, runs=FEW)
        client = signed_in(make.supervisor(site))
        client.get(f"/s/{site.code}/progress")  # plans are read once in a process
        with CaptureQueriesContext(connection) as asked:
            assert client.get(f"/s/{site.code}/progress").status_code == 200
        costs.append(len(asked))
    assert costs[0] == costs[1] <= 12


def test_the_page_is_told_in_spanish_and_has_nothing_inline(worked: Site, desk: Client) -> None:
    make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    page = desk.get(f"{PAGE}?lang=es")
    said = words(page).replace("/api/v1/forecasts", "")
    for english in ("Planned", "forecast", "Forecast", "weeks", "runs", "Whole"):
        assert english not in said, english
    assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=", page.content.decode())


def test_the_drawing_says_its_words_and_stays_within_its_field(worked: Site) -> None:
    kept = make_forecast(site=worked, now=make.MONDAY, runs=FEW)
    curve = curve_of(count_site(worked), Part(), kept.told, starts=None, today=TODAY)
    drawn = draw_curve(curve, "a < b")
    assert 'aria-label="a &lt; b"' in drawn
    (band,) = re.findall(r'class="curve-band"[^>]* d="([^"]+)"', drawn)
    spots = [tuple(map(float, spot.split())) for spot in re.split("[ML]", band.rstrip("Z"))[1:]]
    assert all(0 <= x <= 400 and 0 <= y <= 250 for x, y in spots)
    known = [point for point in curve.points if point.low is not None]
    assert all(point.low <= point.median <= point.high for point in known)  # type: ignore[operator]
    assert known[0].low == known[0].high == known[0].done  # the band leaves from what is done


def _day(said: str) -> date:
    return datetime.strptime(f"{said} +0000", "%d %b %Y %z").date()
