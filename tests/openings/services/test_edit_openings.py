"""Correcting openings by hand: the same checks and the same record as a schedule."""

import pytest

from openings.models import DirtyOpening, Opening, ScheduleChange, Site
from openings.selectors.facts import CHOICES, LONGEST, WallTold
from openings.services.edit import edit_openings
from sitetrack.kit.lengths import Length, parse_length
from sitetrack.kit.problems import BadInput, Conflict, Forbidden, NotFound
from tests import builders
from tests.builders import DAY, MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return builders.site()


def edit(site: Site, *openings: Opening, who=None, **facts: object) -> list[Opening]:
    return edit_openings(
        site=site,
        versions={opening.pk: opening.version for opening in openings},
        facts=facts,
        who=who or builders.supervisor(site),
        now=MONDAY + DAY,
    )


def test_many_openings_are_corrected_at_once_and_each_change_recorded(site: Site) -> None:
    first, second = builders.opening(site, "101", hand="RH"), builders.opening(site, "102", hand="LHR")
    changed = edit(site, first, second, hand="LHR", electrified=True)
    assert {opening.number for opening in changed} == {"101", "102"}
    recorded = {(change.opening.number, change.field, change.after) for change in ScheduleChange.objects.all()}
    assert ("101", "hand", "LHR") in recorded
    assert ("102", "hand", "LHR") not in recorded
    assert ScheduleChange.objects.filter(revision=None).count() == ScheduleChange.objects.count()
    assert set(DirtyOpening.objects.values_list("opening", flat=True)) >= {first.pk, second.pk}


def test_a_correction_that_changes_nothing_records_nothing(site: Site) -> None:
    opening = builders.opening(site, "101", hand="RH")
    assert edit(site, opening, hand="RH") == []
    assert not ScheduleChange.objects.exists()


def test_a_correction_of_what_changed_meanwhile_is_refused(site: Site) -> None:
    opening = builders.opening(site, "101")
    Opening.objects.filter(pk=opening.pk).update(version=7)
    with pytest.raises(Conflict, match="101"):
        edit(site, opening, hand="RH")


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"hand": "LEFT"}, "hand"),
        ({"width": Length(0)}, "width"),
        ({"height": Length(-5)}, "height"),
        ({"leaves": 3}, "leaves"),
        ({"number": ""}, "number"),
        ({"number": "9" * 41}, "number"),
        ({"number": ".."}, "number"),
        ({"rating_minutes": 9000}, "rating_minutes"),
        ({"construction": "glued"}, "construction"),
        ({"floor": " "}, "floor"),
        ({"version": 3}, "version"),
    ],
)
def test_what_a_frame_cannot_be_is_refused_by_name(site: Site, facts: dict[str, object], field: str) -> None:
    opening = builders.opening(site, "101")
    with pytest.raises(BadInput) as refused:
        edit(site, opening, **facts)
    assert refused.value.errors[0].field == field
    assert Opening.objects.get(pk=opening.pk).version == opening.version


def test_a_number_in_use_is_refused_whatever_its_case(site: Site) -> None:
    builders.opening(site, "101A")
    other = builders.opening(site, "102")
    with pytest.raises(BadInput, match="number of another opening"):
        edit(site, other, number="101a")


def test_one_number_is_not_given_to_many(site: Site) -> None:
    with pytest.raises(BadInput, match="one opening at a time"):
        edit(site, builders.opening(site, "101"), builders.opening(site, "102"), number="103")


def test_floor_and_wall_are_named_and_made_where_new(site: Site) -> None:
    opening = builders.opening(site, "101")
    edit(site, opening, floor="Level 9", wall=WallTold("M8", "masonry", thickness=parse_length('8"')))
    stored = Opening.objects.select_related("floor", "wall", "plan").get(pk=opening.pk)
    assert (stored.floor.name, stored.floor.level, stored.wall.code) == ("Level 9", 9, "M8")
    fields = set(ScheduleChange.objects.filter(opening=opening).values_list("field", flat=True))
    assert fields == {"floor", "wall"}


def test_unknown_can_be_given_back(site: Site) -> None:
    opening = builders.opening(site, "101", hand="RH")
    edit(site, opening, hand=None, width=None)
    stored = Opening.objects.get(pk=opening.pk)
    assert (stored.hand, stored.width) == ("", None)


def test_only_supervisors_correct_and_only_their_own_site(site: Site) -> None:
    opening = builders.opening(site, "101")
    with pytest.raises(Forbidden):
        edit(site, opening, who=builders.crew(site), hand="RH")
    elsewhere = builders.site()
    with pytest.raises(NotFound):
        edit(elsewhere, opening, hand="RH")


def test_the_limits_are_those_of_the_columns() -> None:
    lengths = {name: Opening._meta.get_field(name).max_length for name in LONGEST if name != "remarks"}
    assert lengths == {name: most for name, most in LONGEST.items() if name != "remarks"}
    for name in ("hand", "construction", "size_is"):
        assert [value for value, _ in Opening._meta.get_field(name).choices] == list(CHOICES[name])
