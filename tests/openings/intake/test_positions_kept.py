"""Where somebody set an opening down it stays, until a person lets a model's position stand."""

from pathlib import Path
from typing import Any

import pytest

from openings.intake.previewing import Preview, preview
from openings.intake.settled import read_settled
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file
from openings.models import Opening, ScheduleChange, Site
from openings.selectors.facts import title
from openings.services.positions import set_positions
from tests import builders
from tests.openings.intake.placed_model import PlacedModel

pytestmark = pytest.mark.django_db


class Desk:
    """A supervisor who takes models in and moves openings by hand, a day apart each."""

    def __init__(self, site: Site, folder: Path) -> None:
        self.site, self.path, self.now = site, folder / "doors.ifc", builders.MONDAY
        self.who = builders.supervisor(site)
        self.keys: dict[str, str] = {}

    def model(self, **spots: tuple[float, float]) -> None:
        """Write a model with doors of these Tags at these metres; a door keeps its key from model to model."""
        model = PlacedModel()
        for tag, (x, y) in spots.items():
            door = model.door(tag, at=model.placement(location=(x, y, 0.0)))
            door.GlobalId = self.keys.setdefault(tag, door.GlobalId)
        model.file.write(str(self.path))

    def look(self, **settled: Any) -> Preview:
        return self._open(take=False, **settled)

    def take(self, **settled: Any) -> Preview:
        return self._open(take=True, **settled)

    def _open(self, *, take: bool, **settled: Any) -> Preview:
        self.now += builders.DAY
        with opened_source(self.path, self.path.name) as source:
            as_settled = read_settled({**choices_for(self.site, source).proposed.to_dict(), **settled})
            seen = preview(self.site, source, as_settled)
            if take:
                file = SeenFile(self.path, self.path.name, as_settled, seen.based_on)
                take_in_file(site=self.site, source=source, seen=file, who=self.who, now=self.now)
        return seen

    def move(self, number: str, spot: tuple[float, float] | None) -> None:
        self.now += builders.DAY
        opening = self.opening(number)
        spots, versions = {opening.pk: spot}, {opening.pk: opening.version}
        set_positions(floor=opening.floor, spots=spots, versions=versions, who=self.who, now=self.now)

    def opening(self, number: str) -> Opening:
        return Opening.objects.select_related("floor").get(site=self.site, number=number)

    def spot(self, number: str) -> tuple[float | None, float | None]:
        opening = self.opening(number)
        return opening.x, opening.y


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    made = Desk(builders.site(), tmp_path)
    made.model(A=(1.0, 1.0), B=(5.0, 5.0))
    made.take()
    return made


def test_moved_by_hand_it_stays_and_the_preview_says_so(desk: Desk) -> None:
    desk.move("A", (2.5, 3.0))
    desk.model(A=(1.5, 1.0), B=(6.0, 5.0))
    seen = desk.take()
    assert desk.spot("A") == (2.5, 3.0)
    assert desk.spot("B") == (6.0, 5.0), "nobody moved this one"
    assert seen.counts["positions_kept"] == 1
    assert [row.number for row in seen.warnings] == ["A"]
    assert (seen.counts["changed"], seen.counts["unchanged"]) == (1, 1)


def test_the_models_position_stands_where_a_person_says_so_that_time(desk: Desk) -> None:
    desk.move("A", (2.5, 3.0))
    desk.take(file_positions=True)
    assert desk.spot("A") == (1.0, 1.0)
    desk.model(A=(9.0, 1.0), B=(5.0, 5.0))
    assert desk.look().counts["positions_kept"] == 0, "the position is the model's again"
    desk.take()
    assert desk.spot("A") == (9.0, 1.0)
    desk.move("A", (2.0, 2.0))
    assert desk.look().counts["positions_kept"] == 1, "what was said once is not remembered"


def test_taken_off_the_plan_it_stays_off(desk: Desk) -> None:
    desk.move("A", None)
    desk.take()
    assert desk.spot("A") == (None, None)


def test_moved_back_to_the_models_place_it_follows_the_model_again(desk: Desk) -> None:
    desk.move("A", (2.5, 3.0))
    desk.move("A", (1.0, 1.0))
    desk.model(A=(4.0, 4.0), B=(5.0, 5.0))
    assert desk.take().counts["positions_kept"] == 0
    assert desk.spot("A") == (4.0, 4.0)


def test_other_facts_of_it_are_taken_in_all_the_same(desk: Desk) -> None:
    desk.move("A", (2.5, 3.0))
    model = PlacedModel()
    door = model.door("A", at=model.placement(location=(1.5, 1.0, 0.0)), width=1.2)
    door.GlobalId = desk.keys["A"]
    model.file.write(str(desk.path))
    seen = desk.take(partial=True)
    assert [change.fact for row in seen.changed for change in row.changes] == ["width"]
    assert desk.spot("A") == (2.5, 3.0)


def test_the_record_calls_it_a_position(desk: Desk) -> None:
    desk.move("A", (2.5, 3.0))
    changed = ScheduleChange.objects.filter(opening__number="A", revision=None).values_list("field", flat=True)
    assert {title(field).split(",")[0] for field in changed} == {"position on the plan"}
