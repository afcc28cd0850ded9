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

FORMS = '{"attr": ..., "is"|"in"|"above"|"known": ...}, {"all": [...]}, {"any": [...]} or {"not": {...}}'


class ConditionError(ValueError):
    """A condition that cannot be read; the message says what was read and what was expected."""


def read_condition(document: object) -> Condition:
    """Read a condition from plain data.

    Raises ConditionError, naming what was read and what was expected.
    """
    condition = _read(document, depth=1)
    asked = sum(1 for _ in questions(condition))
    if asked > MOST_QUESTIONS:
        raise ConditionError(f"asks {asked} questions, expected at most {MOST_QUESTIONS}: make it simpler")
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
        raise ConditionError(f"is nested more than {DEEPEST_NESTING} deep: make it simpler")
    match document:
        case {"attr": str(name), **test} if len(test) == 1:
            return _read_question(name, test)
        case {"all": [*parts], **rest} if parts and not rest:
            return AllOf(tuple(_read(part, depth + 1) for part in parts))
        case {"any": [*parts], **rest} if parts and not rest:
            return AnyOf(tuple(_read(part, depth + 1) for part in parts))
        case {"not": part, **rest} if not rest:
            return Not(_read(part, depth + 1))
    raise ConditionError(f"reads {document!r}, expected {FORMS}")


def _read_question(name: str, test: Mapping[object, object]) -> Condition:
    attribute = ATTRIBUTES.get(name)
    if attribute is None:
        raise ConditionError(f"asks about {name!r}, expected one of {', '.join(ATTRIBUTES)}")
    match test:
        case {"is": value}:
            return OneOf(name, (_value(name, value),))
        case {"in": [*values]} if values:
            return OneOf(name, tuple(_value(name, value) for value in values))
        case {"above": int() | float() as limit} if isinstance(attribute, Number) and not isinstance(limit, bool):
            return Above(name, limit)
        case {"known": bool(wanted)}:
            return Known(name, wanted)
    raise ConditionError(f"asks {dict(test)!r} of {name!r}, which is {attribute.expected}; expected {FORMS}")


def _value(name: str, value: object) -> Value:
    if isinstance(value, str | int | float) and ATTRIBUTES[name].takes(value):
        return value
    raise ConditionError(f"compares {name!r} with {value!r}, expected {ATTRIBUTES[name].expected}")
