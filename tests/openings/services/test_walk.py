"""The walk through a floor, held against every order there is on small floors."""

from itertools import pairwise, permutations
from math import hypot

from hypothesis import given
from hypothesis import strategies as st

from openings.services.walk import walking_order

places = st.tuples(st.integers(0, 50), st.integers(0, 20)).map(lambda spot: (float(spot[0]), float(spot[1])))


def length(spots: list[tuple[float, float]], order: list[int]) -> float:
    return sum(hypot(spots[a][0] - spots[b][0], spots[a][1] - spots[b][1]) for a, b in pairwise(order))


def test_a_corridor_is_walked_from_one_end_to_the_other() -> None:
    corridor = [(12.0, 0.0), (3.0, 2.0), (0.0, 0.0), (9.0, 2.0), (6.0, 0.0)]
    assert walking_order(corridor) == [2, 1, 4, 3, 0]


@given(st.lists(places, min_size=1, max_size=6))
def test_every_opening_is_walked_once_and_never_the_longest_way(spots: list[tuple[float, float]]) -> None:
    order = walking_order(spots)
    assert sorted(order) == list(range(len(spots)))
    assert length(spots, order) <= max(length(spots, list(other)) for other in permutations(order))


def test_without_every_position_the_schedules_order_is_kept() -> None:
    assert walking_order([(5.0, 0.0), (None, None), (0.0, 0.0)]) == [0, 1, 2]
    assert walking_order([]) == []
