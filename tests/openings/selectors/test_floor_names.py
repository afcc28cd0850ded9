"""Floors go by many names on one job."""

import pytest

from openings.selectors.floor_names import level_by_name, same_floor


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("1", "Level 1"), ("Level 2", "2nd Floor"), ("L3", "3"), ("Third Floor", "Level 3"), ("Nivel 2", "level 02"),
        ("Piso 1", "First floor"), ("Planta 4", "P4"), ("ROOF", "Roof"), ("Segundo piso", "2"), ("2º piso", "2"),
    ],
)  # fmt: skip
def test_one_floor_by_two_names(one: str, other: str) -> None:
    assert same_floor(one, other)


@pytest.mark.parametrize(
    ("one", "other"), [("1", "11"), ("Level 1", "Level B1"), ("Mezzanine 1", "Level 1"), ("B1", "B2"), ("1A", "1")]
)
def test_two_floors_stay_two(one: str, other: str) -> None:
    assert not same_floor(one, other)


def test_floors_lie_as_their_names_say() -> None:
    names = ["Basement 2", "B1", "Ground Floor", "Level 1", "2nd Floor", "Level 10", "Roof"]
    levels = [level_by_name(name) for name in names]
    assert levels == sorted(levels)
    assert level_by_name("Mezzanine") is None
