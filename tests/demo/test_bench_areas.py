"""The areas of `manage.py bench` that read a site measure what they say; what they take is never asked."""

from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import CommandError
from django.db import connection

from inspections.models import CheckIn, FrameCheck, Progress, StageStanding
from openings.models import Floor, Opening
from sitetrack.demo.bench import asking_here, asking_ready, drawing_pages, reporting, taking_schedules_in
from sitetrack.demo.bench.worked_sites import ON_A_FLOOR, WORK, WorkedSite, worked_site
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture
def worked() -> WorkedSite:
    return worked_site(30)


def test_a_copied_opening_stands_as_the_one_it_was_copied_from(worked: WorkedSite) -> None:
    openings = list(Opening.objects.filter(site=worked.site).order_by("number"))
    assert len(openings) == 30
    for first, copy in zip(openings[:10], openings[20:], strict=True):
        assert rows_of(first) == rows_of(copy)
    assert FrameCheck.objects.filter(opening__number=worked.read).exists()
    assert CheckIn.objects.count() == 3 * sum(range(len(WORK) + 1))
    assert Progress.objects.count() == 30


def rows_of(opening: Opening) -> list[object]:
    standings = StageStanding.objects.filter(opening=opening).order_by("place")
    check_ins = CheckIn.objects.filter(opening=opening).order_by("seq")
    return [
        list(standings.values_list("stage", "state", "actionable", "since")),
        list(check_ins.values_list("stage", "action", "received_at", "frame_check__verdict")),
        Progress.objects.values_list("earned", "next_stage").get(opening=opening),
    ]


def test_a_larger_site_has_more_floors_not_fuller_ones() -> None:
    worked = worked_site(ON_A_FLOOR + 1)
    assert [floor.openings.count() for floor in Floor.objects.filter(site=worked.site).order_by("level")] == [200, 1]


def test_pages_are_drawn_for_the_supervisor_and_their_queries_do_not_grow() -> None:
    sites = {size: worked_site(size, f"site-{size}") for size in (20, 60)}
    for worked in sites.values():
        client = drawing_pages.signed_in_client(worked)
        for address in drawing_pages.addresses(worked).values():
            assert "Bench" in client.get(address).content.decode()
    figures = {figure.name: figure for figure in drawing_pages.pages_of(sites, 1)}
    for page in ("Today", "Floor", "Opening"):
        small, large = (figures[f"{page}, {size} openings: queries"] for size in sites)
        assert small.median == large.median > 0
        assert large.of == small.name


def test_what_is_ready_is_asked_for_the_same_rows_as_the_bare_select(worked: WorkedSite) -> None:
    trade = asking_ready.busiest(worked)
    bare, asked = asking_ready.bare(worked, trade), asking_ready.asked(worked, trade)
    assert {(stage, place) for _, stage, place, _ in bare} == {(stage, place) for _, stage, place, _ in asked}
    assert len(bare) == len(asked) == StageStanding.objects.filter(trade=trade, actionable=True).count() > 0
    counted = asking_ready.bare_counts(worked)
    assert sum(row[-1] for row in counted) == StageStanding.objects.filter(actionable=True).count()
    names = [figure.name for figure in asking_ready.readiness_of(worked, 1)]
    assert names[0] == f"bare SELECT, {len(bare)} rows of {trade}"


@pytest.mark.skipif(connection.vendor != "sqlite", reason="its planner takes no index for a few rows")
def test_the_bare_select_goes_by_an_index(worked: WorkedSite) -> None:
    trade = asking_ready.busiest(worked)
    with connection.execute_wrapper(explained):
        plan = asking_ready.bare(worked, trade)
    assert len(plan) == 1
    assert plan[0][-1].startswith("SEARCH inspections_stagestanding USING INDEX")


def explained(execute, statement, *rest):
    return execute(f"EXPLAIN QUERY PLAN {statement}", *rest)


def test_the_workbook_is_measured_beside_the_very_cells_it_has(worked: WorkedSite, tmp_path: Path) -> None:
    (tmp_path / "bare").mkdir()
    whole = reporting.cells_of(reporting.made(worked, tmp_path))
    bare = tmp_path / "bare" / "bare.xlsx"
    reporting.write_bare(whole, bare)
    assert filled(reporting.cells_of(bare)) == filled(whole)
    assert any(worked.read in row for rows in whole.values() for row in rows)
    small = worked_site(5, "small")
    names = [figure.name for figure in reporting.report_of(worked, small, tmp_path, 1)]
    assert names[-2:] == ["peak of the status of 5 openings", "peak of the status of 30 openings"]


def filled(sheets: reporting.Sheets) -> list[tuple[str, int, int, object]]:
    return [
        (name, at, place, value)
        for name, rows in sheets.items()
        for at, row in enumerate(rows)
        for place, value in enumerate(row)
        if value != ""
    ]


def test_a_schedule_is_previewed_whole_and_beside_the_very_file_the_library_reads(tmp_path: Path) -> None:
    path = taking_schedules_in.large_schedule(tmp_path / "large.xlsx", 50)
    assert len(taking_schedules_in.read_alone(path)) == 51
    site = builders.site()
    assert taking_schedules_in.previewed(site, path).counts["added"] == 50
    names = [figure.name for figure in taking_schedules_in.intake_of(site, path, path_of_model(tmp_path), 1)]
    assert names == [
        "python-calamine alone, 51 rows", "50 rows previewed", "ifcopenshell alone, 7 doors", "7 doors previewed",
    ]  # fmt: skip


def path_of_model(folder: Path) -> Path:
    return taking_schedules_in.small_model(folder / "model.ifc", 7)


def test_a_model_is_previewed_with_every_door(tmp_path: Path) -> None:
    assert taking_schedules_in.previewed(builders.site(), path_of_model(tmp_path)).counts["added"] == 7


def test_what_stands_is_asked_and_left_as_it_is(worked: WorkedSite) -> None:
    before = rows_everywhere()
    figures = {figure.name: figure for figure in asking_here.measure_here(quick=True)}
    assert rows_everywhere() == before
    assert figures["check ins"].median == CheckIn.objects.count()
    assert {"Today, 30 openings", "pull of what changed by it"} <= set(figures)


def test_where_no_site_has_an_opening_there_is_nothing_to_ask() -> None:
    with pytest.raises(CommandError, match="simulate"):
        asking_here.measure_here(quick=True)


def rows_everywhere() -> dict[str, int]:
    return {model._meta.label: model._base_manager.count() for model in apps.get_models()}
