"""The tables themselves: every value sourced and marked, cautions in both languages."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from fractions import Fraction
from types import ModuleType
from typing import Any

import pytest

from inspections.standards import (
    access,
    anchors,
    cautions,
    clear_width,
    clearances,
    fire,
    floors,
    hinges,
    rough_openings,
    sources,
    tolerances,
    walls,
    weights,
)
from inspections.standards.limits import Limit, Mark, Source, inches, limit_of
from sitetrack.kit.lengths import INCH

TABLES = (access, anchors, clear_width, clearances, fire, floors, hinges, rough_openings, tolerances, walls, weights)


def limits_in(value: Any) -> Iterator[Limit]:
    if isinstance(value, Limit):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from limits_in(each)
    elif isinstance(value, tuple | list):
        for each in value:
            yield from limits_in(each)
    elif is_dataclass(value) and not isinstance(value, type):
        for entry in fields(value):
            yield from limits_in(getattr(value, entry.name))


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__.rsplit(".", 1)[-1])
def test_every_value_names_its_source_and_how_well_it_was_confirmed(table: ModuleType) -> None:
    found = [limit for name, value in vars(table).items() if not name.startswith("__") for limit in limits_in(value)]
    assert found
    for limit in found:
        assert limit.source
        assert limit.mark in Mark
        assert limit.value >= 0


def test_no_source_is_an_address() -> None:
    named = [value for value in vars(sources).values() if isinstance(value, Source)]
    assert named
    for source in named:
        assert "http" not in source.name
        assert "www" not in source.name


def test_the_four_tolerances_are_the_read_ones() -> None:
    """Public-agency project specification 08 11 13, part 3: 1/16 in each."""
    for limit in (tolerances.SQUARENESS, tolerances.ALIGNMENT, tolerances.TWIST, tolerances.PLUMB):
        assert limit.length * 16 == INCH
        assert limit.mark is Mark.READ


def test_limit_in_millimetres_is_exact() -> None:
    assert limit_of("1.5", "mm", sources.SITE).length.mm == Fraction(3, 2)
    assert inches("1/16", sources.SITE).cited() == {"name": sources.SITE.name, "edition": "", "mark": "site"}
    with pytest.raises(ValueError, match="not a unit of length"):
        _ = weights.ONE_PERSON.length


@pytest.mark.parametrize("caution", cautions.CAUTIONS.values(), ids=lambda caution: caution.topic)
def test_every_caution_says_who_decides_in_both_languages(caution: cautions.Caution) -> None:
    assert caution.text("en").endswith(cautions.DEFER_EN)
    assert caution.text("es").endswith(cautions.DEFER_ES)
    assert caution.en != caution.es
    assert caution.cited()["name"]
