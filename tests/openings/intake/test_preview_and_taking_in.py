"""A schedule is shown before it is taken in; taking it in writes just that, and a revision never deletes anything."""

from datetime import timedelta
from pathlib import Path

import pytest

from inspections.models import Alert
from inspections.services.work_out import work_out
from openings.intake.previewing import Preview, more_rows, preview
from openings.intake.settled import Settled, read_settled
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file
from openings.models import DirtyOpening, Floor, HeadingMap, Opening, ScheduleChange, ScheduleRevision, Site, WallType
from openings.selectors.comparison import Outcome
from sitetrack.kit.problems import Conflict, Forbidden
from tests import builders
from tests.builders import DAY, MONDAY
from tests.openings.intake import sheets
from tests.openings.intake.samples import sample

pytestmark = pytest.mark.django_db
HEADINGS = ["Door No.", "Level", "Width", "Height", "Hand", "Fire Rating", "Wall Type"]
FIRST = (
    ["101", "1", "3'-0\"", "7'-0\"", "RH", "90 MIN", "P1 metal stud"],
    ["102", "1", "3'-0\"", "7'-0\"", "", "NR", '8" CMU'],
    ["201", "2", "3'-0\"", "7'-0\"", "LH", "", ""],
)


@pytest.fixture
def site() -> Site:
    return builders.site()


class Desk:
    """A supervisor with a folder of schedules."""

    def __init__(self, site: Site, folder: Path) -> None:
        self.site, self.folder, self.now = site, folder, MONDAY
        self.who = builders.supervisor(site)

    def file(self, *rows: list[str], headings: list[str] = HEADINGS) -> Path:
        return sheets.csv_file(self.folder / "doors.csv", [headings, *rows])

    def look(self, path: Path, **settled: object) -> Preview:
        with opened_source(path, path.name) as source:
            return preview(self.site, source, self._settle(source, settled))

    def take(self, path: Path, *, based_on: str = "", **settled: object) -> ScheduleRevision:
        self.now += DAY
        with opened_source(path, path.name) as source:
            as_settled = self._settle(source, settled)
            based_on = based_on or preview(self.site, source, as_settled).based_on
            seen = SeenFile(path, path.name, as_settled, based_on)
            return take_in_file(site=self.site, source=source, seen=seen, who=self.who, now=self.now)

    def _settle(self, source, settled: dict[str, object]) -> Settled:
        return read_settled({**choices_for(self.site, source).proposed.to_dict(), **settled})

    def opening(self, number: str) -> Opening:
        return Opening.objects.select_related("floor", "wall", "plan").get(site=self.site, number=number)


@pytest.fixture
def desk(site: Site, tmp_path: Path) -> Desk:
    return Desk(site, tmp_path)


def test_a_preview_writes_nothing(desk: Desk) -> None:
    made = desk.look(desk.file(*FIRST))
    assert made.counts["added"] == 3
    assert not Opening.objects.exists()
    assert not Floor.objects.exists()
    assert not ScheduleRevision.objects.exists()


def test_taking_in_makes_floors_walls_and_openings_with_the_plan_of_their_wall(desk: Desk) -> None:
    revision = desk.take(desk.file(*FIRST))
    assert (revision.n, revision.added, revision.refused) == (1, 3, 0)
    assert [floor.level for floor in Floor.objects.order_by("level")] == [1, 2]
    assert dict(WallType.objects.values_list("code", "kind")) == {"P1 metal stud": "steel_stud", '8" CMU': "masonry"}
    kinds = {opening.number: opening.plan.wall_kind for opening in Opening.objects.select_related("plan")}
    assert kinds == {"101": "steel_stud", "102": "masonry", "201": "steel_stud"}
    opening = desk.opening("101")
    assert (float(opening.width.inches), opening.hand, opening.rating_minutes, opening.version) == (36, "RH", 90, 1)
    assert (desk.opening("102").rating_minutes, desk.opening("201").rating_minutes) == (0, None)


def test_what_is_taken_in_is_numbered_for_the_phones_and_owed_to_be_worked_out(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    numbers = sorted(Opening.objects.values_list("seq", flat=True))
    desk.site.refresh_from_db()
    assert numbers == [1, 2, 3]
    assert desk.site.change_counter == 3
    assert DirtyOpening.objects.count() == 3


def test_the_same_file_again_changes_nothing(desk: Desk) -> None:
    path = desk.file(*FIRST)
    desk.take(path)
    before = list(Opening.objects.order_by("pk").values())
    revision = desk.take(path)
    assert (revision.added, revision.changed, revision.unchanged, revision.missing) == (0, 0, 3, 0)
    assert list(Opening.objects.order_by("pk").values()) == before


def test_a_revision_shows_each_changed_fact_before_and_after(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    path = desk.file(["101", "1", "3'-4\"", "7'-0\"", "RHR", "90 MIN", "P1 metal stud"], *FIRST[1:])
    made = desk.look(path)
    assert made.counts["changed"] == 1
    assert [(change.fact, change.before, change.after) for change in made.changed[0].changes] == [
        ("width", "3'-0\"", "3'-4\""), ("hand", "RH", "RHR"),
    ]  # fmt: skip
    desk.take(path)
    recorded = ScheduleChange.objects.filter(kind="changed").order_by("id")
    assert [(change.field, change.before, change.after) for change in recorded] == [
        ("width", "3'-0\"", "3'-4\""), ("hand", "RH", "RHR"),
    ]  # fmt: skip
    assert desk.opening("101").version == 2


def test_an_opening_the_revision_does_not_list_is_kept_and_marked(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    desk.take(desk.file(*FIRST[:2]))
    dropped = desk.opening("201")
    assert not dropped.in_schedule
    assert ScheduleChange.objects.get(opening=dropped, kind="missing").by == desk.who
    revision = desk.take(desk.file(*FIRST))
    assert revision.changed == 1
    assert desk.opening("201").in_schedule
    assert ScheduleChange.objects.filter(opening=dropped, kind="back").exists()


def test_a_file_that_lists_part_of_the_site_leaves_the_rest_alone(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    revision = desk.take(desk.file(FIRST[2]), partial=True)
    assert revision.missing == 0
    assert Opening.objects.filter(in_schedule=True).count() == 3


def test_a_blank_leaves_what_is_known_unless_a_person_lets_it_clear(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    blank = desk.file(["101", "1", "3'-0\"", "7'-0\"", "", "90 MIN", "P1 metal stud"], *FIRST[1:])
    assert desk.look(blank).counts["changed"] == 0
    made = desk.look(blank, blank_clears=True)
    assert [(change.fact, change.before, change.after) for change in made.changed[0].changes] == [("hand", "RH", "")]


def test_a_default_fills_what_nobody_told_and_only_that(desk: Desk) -> None:
    desk.take(desk.file(*FIRST), defaults={"electrified": "no", "hand": "LHR"})
    assert {opening.number: opening.hand for opening in Opening.objects.all()} == {
        "101": "RH",
        "102": "LHR",
        "201": "LH",
    }
    assert set(Opening.objects.values_list("electrified", flat=True)) == {False}


def test_unknown_facts_are_counted(desk: Desk) -> None:
    made = desk.look(desk.file(*FIRST))
    assert (made.unknown["hand"], made.unknown["rating_minutes"], made.unknown["wall"]) == (1, 1, 1)
    assert made.unknown["electrified"] == 3
    assert made.unknown["width"] == 0


def test_a_number_twice_is_refused_with_where_it_stands_first(desk: Desk) -> None:
    path = desk.file(*FIRST, ["101", "2", "3'-0\"", "7'-0\"", "", "", ""])
    made = desk.look(path)
    assert made.counts["refused"] == 1
    assert (made.refused[0].row, "row 2" in made.refused[0].mend) == (5, True)
    assert desk.take(path).refused == 1
    assert desk.opening("101").floor.code == "1"


def test_numbers_differ_by_more_than_case(desk: Desk) -> None:
    desk.take(desk.file(["101a", "1", "3'-0\"", "7'-0\"", "", "", ""]))
    made = desk.look(desk.file(["101A", "1", "3'-0\"", "7'-0\"", "", "", ""]))
    assert (made.counts["added"], made.counts["changed"]) == (0, 1)


def test_a_number_in_any_letters_is_found_again(desk: Desk) -> None:
    path = desk.file(["tür-1", "1"], ["Дверь-2", "1"], headings=["Door No.", "Level"])
    desk.take(path)
    assert desk.look(path).counts["unchanged"] == 2


def test_a_stale_preview_is_refused_and_nothing_is_written(desk: Desk) -> None:
    desk.take(desk.file(*FIRST[:1]))
    path = desk.file(*FIRST)
    based_on = desk.look(path).based_on
    Opening.objects.filter(number="101").update(hand="LH", version=2)
    with pytest.raises(Conflict, match="Look at the preview again"):
        desk.take(path, based_on=based_on)
    assert Opening.objects.count() == 1
    assert ScheduleRevision.objects.count() == 1


@pytest.mark.parametrize("role", ["crew", "viewer", "inspector"])
def test_only_a_supervisor_takes_a_schedule_in(desk: Desk, role: str) -> None:
    desk.who = builders.member(desk.site, role)
    with pytest.raises(Forbidden, match="Only a supervisor"):
        desk.take(desk.file(*FIRST))
    assert not Opening.objects.exists()


def test_what_was_settled_is_remembered_for_the_next_file_of_the_same_headings(desk: Desk) -> None:
    headings = ["Tag", "Storey", "A", "B"]
    row = ["101", "1", "915", "2134"]
    columns = {"number": "Tag", "floor": "Storey", "width": "A", "height": "B"}
    desk.take(desk.file(row, headings=headings), columns=columns, unit="mm", defaults={"electrified": "no"})
    assert HeadingMap.objects.count() == 1
    path = desk.file(row, ["102", "1", "915", "2134"], headings=headings)
    with opened_source(path, path.name) as source:
        proposed = choices_for(desk.site, source).proposed
    assert (dict(proposed.columns), proposed.unit, dict(proposed.defaults)) == (columns, "mm", {"electrified": "no"})


KEYED = ["Door No.", "Level", "GlobalId"]


def test_a_door_renumbered_under_its_key_is_the_same_door(desk: Desk) -> None:
    desk.take(desk.file(["101", "1", "key-a"], headings=KEYED))
    before = desk.opening("101").pk
    made = desk.look(desk.file(["105", "1", "key-a"], headings=KEYED))
    assert (made.counts["added"], made.counts["changed"], made.counts["missing"]) == (0, 1, 0)
    desk.take(desk.file(["105", "1", "key-a"], headings=KEYED))
    assert desk.opening("105").pk == before


def test_two_doors_can_swap_their_numbers(desk: Desk) -> None:
    desk.take(desk.file(["101", "1", "key-a"], ["102", "1", "key-b"], headings=KEYED))
    first, second = desk.opening("101").pk, desk.opening("102").pk
    desk.take(desk.file(["102", "1", "key-a"], ["101", "1", "key-b"], headings=KEYED))
    assert (desk.opening("102").pk, desk.opening("101").pk) == (first, second)
    changes = ScheduleChange.objects.filter(field="number").order_by("before")
    assert [(change.before, change.after) for change in changes] == [("101", "102"), ("102", "101")]


def test_a_freed_number_goes_to_the_new_door(desk: Desk) -> None:
    desk.take(desk.file(["101", "1", "key-a"], headings=KEYED))
    old = desk.opening("101").pk
    desk.take(desk.file(["101", "1", "key-b"], ["101A", "1", "key-a"], headings=KEYED))
    assert desk.opening("101A").pk == old
    assert desk.opening("101").pk != old


def test_a_number_still_held_by_an_unlisted_opening_is_refused_in_words(desk: Desk) -> None:
    desk.take(desk.file(["101", "1", "key-a"], ["102", "1", "key-b"], headings=KEYED))
    path = desk.file(["102", "1", "key-a"], headings=KEYED)
    made = desk.look(path)
    assert made.counts["refused"] == 1
    assert "belongs to another opening" in made.refused[0].expected
    revision = desk.take(path)
    assert revision.refused == 1
    assert desk.opening("101").source_key == "key-a"


def test_a_number_kept_by_a_door_that_could_not_be_renumbered_is_not_given_away(desk: Desk) -> None:
    desk.take(desk.file(["101", "1", "key-a"], ["102", "1", "key-b"], headings=KEYED))
    revision = desk.take(desk.file(["102", "1", "key-a"], ["101", "1", "key-c"], ["103", "1", "key-d"], headings=KEYED))
    assert (revision.refused, revision.added) == (2, 1)
    assert {opening.number: opening.source_key for opening in Opening.objects.all()} == {
        "101": "key-a", "102": "key-b", "103": "key-d",
    }  # fmt: skip


def test_a_wall_told_later_brings_its_plan_but_a_plan_chosen_by_hand_stays(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    existing = desk.site.plans.get(wall_kind="existing", current=True)
    Opening.objects.filter(number="101").update(plan=existing)
    masonry = [[*row[:6], '8" CMU'] for row in FIRST]
    desk.take(desk.file(*masonry))
    assert {opening.number: opening.plan.wall_kind for opening in Opening.objects.select_related("plan")} == {
        "101": "existing", "102": "masonry", "201": "masonry",
    }  # fmt: skip


def test_a_floor_by_another_name_is_the_same_floor(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    renamed = [[row[0], {"1": "Level 1", "2": "2nd Floor"}[row[1]], *row[2:]] for row in FIRST]
    assert desk.look(desk.file(*renamed)).counts["unchanged"] == 3


def test_openings_whose_floor_nobody_told_wait_on_a_floor_of_that_name(desk: Desk) -> None:
    headings = ["Door Numbers", "HwSet#"]
    desk.take(desk.file(["104", "21"], headings=headings))
    assert desk.opening("104").floor.code == "not told"
    made = desk.look(desk.file(["104", "21"], headings=headings))
    assert made.unknown["floor"] == 1
    desk.take(desk.file(["104", "1"], headings=["Door Numbers", "Level"]))
    assert desk.opening("104").floor.code == "1"


def test_openings_are_walked_in_the_order_of_the_schedule(desk: Desk) -> None:
    desk.take(desk.file(["103", "1"], ["101", "1"], ["201", "2"], ["102", "1"], headings=["Door No.", "Level"]))
    desk.take(desk.file(["100", "1"], headings=["Door No.", "Level"]), partial=True)
    walk = Opening.objects.filter(floor__code="1").order_by("walk").values_list("number", flat=True)
    assert list(walk) == ["103", "101", "102", "100"]


def test_rows_beyond_those_a_preview_keeps_can_be_paged_through(desk: Desk) -> None:
    path = desk.file(*[[str(n), "1"] for n in range(1, 1201)], headings=["Door No.", "Level"])
    made = desk.look(path)
    assert (made.counts["added"], len(made.added)) == (1200, 500)
    with opened_source(path, path.name) as source:
        settled = choices_for(desk.site, source).proposed
        rest = more_rows(desk.site, source, settled, Outcome.ADDED, start=1100, count=500)
    assert [row.number for row in rest] == [str(n) for n in range(1101, 1201)]


@pytest.mark.parametrize(
    "name",
    ["LargeBuilding.ifc", "office-a-2011.ifc.zip", "duplex-rev-baseline.ifc.zip", "two-storey-house.cobie.xlsx",
     "ctr-door-hardware-index.csv"],
)  # fmt: skip
def test_real_files_load_and_load_again_without_a_change(desk: Desk, name: str) -> None:
    path = sample(name)
    first = desk.take(path)
    again = desk.take(path)
    assert first.added > 0
    assert (again.added, again.changed, again.unchanged, again.missing) == (0, 0, first.added, 0)
    assert not Floor.objects.exclude(openings__isnull=False).exists()


def test_a_real_revision_changes_the_one_door_that_moved(desk: Desk) -> None:
    desk.take(sample("duplex-rev-baseline.ifc.zip"))
    revision = desk.take(sample("duplex-rev-movedoor.ifc.zip"))
    assert (revision.added, revision.changed, revision.unchanged, revision.missing) == (0, 1, 13, 0)
    changes = ScheduleChange.objects.filter(revision=revision)
    assert {change.opening.number for change in changes} == {"A102"}
    assert ("6.165", "7.565") in [(change.before, change.after) for change in changes if change.field == "x"]


def test_storeys_of_a_model_are_ordered_by_height(desk: Desk) -> None:
    desk.take(sample("office-a-2011.ifc.zip"))
    floors = Floor.objects.order_by("level")
    assert [(floor.name, round(float(floor.elevation.mm))) for floor in floors] == [("Level 1", 0), ("Level 2", 4267)]


def test_taking_in_asks_the_database_no_more_for_more_unchanged_rows_of_one_chunk(
    desk: Desk, django_assert_max_num_queries
) -> None:
    rows = [[str(n), "1"] for n in range(1, 301)]
    path = desk.file(*rows, headings=["Door No.", "Level"])
    desk.take(path)
    with django_assert_max_num_queries(40):
        desk.take(path)


def test_a_change_after_the_frame_was_set_raises_its_alert(desk: Desk) -> None:
    desk.take(desk.file(*FIRST))
    opening = desk.opening("101")
    builders.work_up_to(opening, "set", at=desk.now)
    desk.now += DAY
    desk.take(desk.file(["101", "1", "3'-0\"", "7'-0\"", "LH", "90 MIN", "P1 metal stud"], *FIRST[1:]))
    work_out(opening_ids=[opening.pk], now=desk.now)
    alerts = Alert.objects.filter(opening=opening, rule="schedule-changed-after-set")
    assert [alert.evidence["field"] for alert in alerts] == ["hand"]


def test_time_runs_only_by_argument(desk: Desk) -> None:
    revision = desk.take(desk.file(*FIRST))
    assert revision.taken_in_at == MONDAY + timedelta(days=1)
    assert set(Opening.objects.values_list("changed_at", flat=True)) == {MONDAY + DAY}
