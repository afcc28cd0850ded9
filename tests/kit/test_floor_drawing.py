"""Where the frames of a floor stand on its drawing."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from sitetrack.kit.floor_drawing import SCREEN, plan, runs

metres = st.floats(min_value=-200, max_value=200, allow_nan=False).map(lambda x: round(x, 2))


def test_spaces_come_in_the_order_they_are_first_walked() -> None:
    walked = runs([("Hall", 1), ("Stair", 2), ("Hall ", 3)])
    assert [(run.space, run.openings) for run in walked] == [("Hall", (1, 3)), ("Stair", (2,))]


def test_without_positions_there_is_no_plan() -> None:
    assert plan([("a", None, None), ("b", 1.0, None)]) is None
    assert plan([("a", 1.0, 1.0)]) is None, "one spot makes no plan"


def test_north_is_up_the_sheet() -> None:
    drawn = plan([("south", 0.0, 0.0), ("north", 0.0, 10.0)])
    assert drawn is not None
    south, north = drawn.placed
    assert north.y < south.y


def test_what_has_no_position_is_told_apart_and_not_dropped() -> None:
    drawn = plan([("a", 0.0, 0.0), ("b", 5.0, 0.0), ("c", None, None)])
    assert drawn is not None
    assert drawn.unplaced == ("c",)


@given(st.lists(st.tuples(metres, metres), min_size=2, max_size=40, unique=True))
def test_every_opening_stands_on_the_plan(spots: list[tuple[float, float]]) -> None:
    drawn = plan([(n, x, y) for n, (x, y) in enumerate(spots)])
    assert drawn is not None
    assert sorted(place.what for place in drawn.placed) == list(range(len(spots)))
    for place in drawn.placed:
        assert 0 <= place.x <= drawn.width - SCREEN.mark_width
        assert 0 <= place.y <= drawn.height - SCREEN.mark_height


def test_marks_of_doors_side_by_side_do_not_cover_each_other() -> None:
    drawn = plan([(n, n * 0.4, 0.0) for n in range(8)] + [("far", 80.0, 20.0)])
    assert drawn is not None
    for one, other in combinations(drawn.placed, 2):
        assert abs(one.x - other.x) >= SCREEN.mark_width - 0.2 or abs(one.y - other.y) >= SCREEN.mark_height - 0.2
    assert any(place.moved for place in drawn.placed)
