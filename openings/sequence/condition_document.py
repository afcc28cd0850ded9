"""Conditions as plain data: read from a plan document, and written back."""

from collections.abc import Mapping

from openings.sequence.conditions import (
    ATTRIBUTES,
    DEEPEST_NESTING,
    MOST_QUESTIONS,
    Above,
    AllOf,
    AnyOf,
    Condition,
    Known,
    Not,
    Number,
    OneOf,
    Value,
    questions,
)
from openings.sequence.fault_words import say
from openings.sequence.reading_words import CONDITION_FAULTS, FORMS, expected_of


class ConditionError(ValueError):
    """A condition that cannot be read; `said` tells what was read and what was expected."""

    def __init__(self, kind: str, **told: object) -> None:
        self.said = say(CONDITION_FAULTS, kind, **told)
        super().__init__(self.said.en)


def read_condition(document: object) -> Condition:
    """Read a condition from plain data.

    Raises ConditionError, naming what was read and what was expected.
    """
    condition = _read(document, depth=1)
    asked = sum(1 for _ in questions(condition))
    if asked > MOST_QUESTIONS:
        raise ConditionError("too many questions", asked=asked, most=MOST_QUESTIONS)
    return condition


def write_condition(condition: Condition) -> dict[str, object]:
    """Write a condition as the plain data it is read from.

    Raises TypeError for anything that is not one of the conditions of this package.
    """
    match condition:
        case OneOf(attribute, (value,)):
            return {"attr": attribute, "is": value}
        case OneOf(attribute, values):
            return {"attr": attribute, "in": list(values)}
        case Above(attribute, limit):
            return {"attr": attribute, "above": limit}
        case Known(attribute, wanted):
            return {"attr": attribute, "known": wanted}
        case AllOf(parts):
            return {"all": [write_condition(part) for part in parts]}
        case AnyOf(parts):
            return {"any": [write_condition(part) for part in parts]}
        case Not(part):
            return {"not": write_condition(part)}
    raise TypeError(f"{condition!r} is not a condition")


def _read(document: object, depth: int) -> Condition:
    if depth > DEEPEST_NESTING:
        raise ConditionError("too deep", most=DEEPEST_NESTING)
    match document:
        case {"attr": str(name), **test} if len(test) == 1:
            return _read_question(name, test)
        case {"all": [*parts], **rest} if parts and not rest:
            return AllOf(tuple(_read(part, depth + 1) for part in parts))
        case {"any": [*parts], **rest} if parts and not rest:
            return AnyOf(tuple(_read(part, depth + 1) for part in parts))
        case {"not": part, **rest} if not rest:
            return Not(_read(part, depth + 1))
    raise ConditionError("no form", read=repr(document), forms=FORMS)


def _read_question(name: str, test: Mapping[object, object]) -> Condition:
    attribute = ATTRIBUTES.get(name)
    if attribute is None:
        raise ConditionError("no attribute", name=repr(name), names=", ".join(ATTRIBUTES))
    match test:
        case {"is": value}:
            return OneOf(name, (_value(name, value),))
        case {"in": [*values]} if values:
            return OneOf(name, tuple(_value(name, value) for value in values))
        case {"above": int() | float() as limit} if isinstance(attribute, Number) and not isinstance(limit, bool):
            return Above(name, limit)
        case {"known": bool(wanted)}:
            return Known(name, wanted)
    told = {"read": repr(dict(test)), "name": repr(name), "expected": expected_of(name)}
    raise ConditionError("no question", **told, forms=FORMS)


def _value(name: str, value: object) -> Value:
    if isinstance(value, str | int | float) and ATTRIBUTES[name].takes(value):
        return value
    raise ConditionError("no value", name=repr(name), read=repr(value), expected=expected_of(name))
