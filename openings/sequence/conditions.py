"""Conditions over what is known of an opening: small data, three answers.

A condition answers True, False, or None when what it asks about is not known. The three combine as in SQL (Kleene's
strong three-valued logic): a False decides an "all", a True decides an "any", and otherwise an unknown leaves the whole
unknown. Schedules are full of blanks, and a blank is not a "no".
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise, product
from math import isfinite
from typing import Protocol

Attributes = Mapping[str, object]
Value = str | bool | int | float

# The satisfiability check tries every combination of telling values, so both are kept small.
MOST_QUESTIONS = 12
DEEPEST_NESTING = 5


@dataclass(frozen=True, slots=True)
class Choice:
    """An attribute that is one of a few words."""

    words: tuple[str, ...]

    def takes(self, value: object) -> bool:
        """Whether the value is one of the words."""
        return isinstance(value, str) and value in self.words

    def telling(self, mentioned: set[Value]) -> tuple[Value, ...]:
        """Every value that could make a difference to a condition that mentions these."""
        return self.words


@dataclass(frozen=True, slots=True)
class YesNo:
    """An attribute that is true or false."""

    def takes(self, value: object) -> bool:
        """Whether the value is a truth value."""
        return isinstance(value, bool)

    def telling(self, mentioned: set[Value]) -> tuple[Value, ...]:
        """Both values."""
        return (True, False)


@dataclass(frozen=True, slots=True)
class Number:
    """An attribute that is a number from `least` up."""

    least: int = 0
    whole: bool = True

    def takes(self, value: object) -> bool:
        """Whether the value is such a number; NaN and infinity are not."""
        if isinstance(value, bool) or not isinstance(value, int | float | Fraction | Decimal):
            return False
        if isinstance(value, float | Decimal) and not isfinite(value):
            return False
        return value >= self.least and (not self.whole or value % 1 == 0)

    def telling(self, mentioned: set[Value]) -> tuple[Value, ...]:
        """Each number mentioned, its neighbours, and one between each two: all a comparison can tell apart."""
        marks = sorted({self.least, *(value for value in mentioned if isinstance(value, int | float))})
        between = [] if self.whole else [(low + high) / 2 for low, high in pairwise(marks)]
        tried = {*marks, *between, *(mark - 1 for mark in marks), *(mark + 1 for mark in marks)}
        return tuple(sorted(value for value in tried if self.takes(value)))


# What a condition may ask about. Thickness in inches; rating in minutes, 0 for an opening known to be unrated.
ATTRIBUTES: dict[str, Choice | YesNo | Number] = {
    "construction": Choice(("welded", "knocked_down")),
    "electrified": YesNo(),
    "leaves": Number(least=1),
    "rating_minutes": Number(),
    "covering_thickness": Number(whole=False),
    "wall_kind": Choice(("steel_stud", "wood_stud", "masonry", "existing")),
    "hand": Choice(("LH", "RH", "LHR", "RHR")),
}


class Condition(Protocol):
    """Anything that can be asked of the attributes of an opening."""

    def holds(self, attributes: Attributes) -> bool | None:
        """True, False, or None for not known."""


@dataclass(frozen=True, slots=True)
class OneOf:
    """The attribute is one of these values."""

    attribute: str
    values: tuple[Value, ...]

    def holds(self, attributes: Attributes) -> bool | None:
        """Whether the value is among them."""
        value = attributes.get(self.attribute)
        return value in self.values if ATTRIBUTES[self.attribute].takes(value) else None


@dataclass(frozen=True, slots=True)
class Above:
    """The attribute is a number strictly above the limit."""

    attribute: str
    limit: int | float

    def holds(self, attributes: Attributes) -> bool | None:
        """Whether the value is above the limit."""
        value = attributes.get(self.attribute)
        if not ATTRIBUTES[self.attribute].takes(value):
            return None
        return value > self.limit  # type: ignore[operator]  # takes() has just said it is a number


@dataclass(frozen=True, slots=True)
class Known:
    """The attribute is known, or is not; this question itself always has an answer."""

    attribute: str
    wanted: bool = True

    def holds(self, attributes: Attributes) -> bool:
        """Whether it is known, against what is wanted."""
        return ATTRIBUTES[self.attribute].takes(attributes.get(self.attribute)) is self.wanted


@dataclass(frozen=True, slots=True)
class AllOf:
    """Every part holds."""

    parts: tuple[Condition, ...]

    def holds(self, attributes: Attributes) -> bool | None:
        """The least of the answers, in the order False, unknown, True."""
        answers = [part.holds(attributes) for part in self.parts]
        if False in answers:
            return False
        return None if None in answers else True


@dataclass(frozen=True, slots=True)
class AnyOf:
    """At least one part holds."""

    parts: tuple[Condition, ...]

    def holds(self, attributes: Attributes) -> bool | None:
        """The greatest of the answers, in the order False, unknown, True."""
        answers = [part.holds(attributes) for part in self.parts]
        if True in answers:
            return True
        return None if None in answers else False


@dataclass(frozen=True, slots=True)
class Not:
    """The part does not hold."""

    part: Condition

    def holds(self, attributes: Attributes) -> bool | None:
        """The answer turned round; unknown stays unknown."""
        answer = self.part.holds(attributes)
        return None if answer is None else not answer


def can_be_true(condition: Condition) -> bool:
    """Whether some opening, with blanks or without, makes the condition True.

    Tries every combination of the values that could make a difference; the limits on the size of a condition keep
    that small.
    """
    mentioned: dict[str, set[Value]] = {}
    for question in questions(condition):
        values = mentioned.setdefault(question.attribute, set())
        if isinstance(question, OneOf):
            values.update(question.values)
        elif isinstance(question, Above):
            values.add(question.limit)
    choices = [(None, *ATTRIBUTES[name].telling(values)) for name, values in mentioned.items()]
    return any(condition.holds(dict(zip(mentioned, values, strict=True))) for values in product(*choices))


def questions(condition: Condition) -> Iterator[OneOf | Above | Known]:
    """Yield every question a condition asks of an attribute, in the order written."""
    if isinstance(condition, OneOf | Above | Known):
        yield condition
    elif isinstance(condition, Not):
        yield from questions(condition.part)
    elif isinstance(condition, AllOf | AnyOf):
        for part in condition.parts:
            yield from questions(part)
