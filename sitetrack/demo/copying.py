"""Rows read once and written many times: a copy has ids, numbers and moments of its own, inside its documents too.

What has to change in a row is found once, when it is read, so that a copy costs little more than the row itself.
"""

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from random import Random
from typing import Any
from uuid import UUID

from django.db import connection, models

from sitetrack.demo.entries import VARIANT, VERSION_7
from sitetrack.kit.clock import MILLISECOND, rfc3339

MS_AT = 80  # bits behind a UUID version 7's milliseconds (RFC 9562)
RANDOM_BITS = 62
# Documents tell moments in milliseconds. Nothing else in them is as large: as a length it would be a kilometre.
FIRST_MS, LAST_MS = 10**12, 10**13
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")
CHANGE_OF_SCHEDULE = "change:"


@dataclass(slots=True)
class Renaming:
    """What one copy is called and when it happens.

    `numbers` are the site's commit-ordered numbers by the pattern's; `changes` the keys of schedule changes, which
    the data base counts.
    """

    ids: Mapping[UUID, UUID]
    shift: timedelta
    numbers: Mapping[int, int] = field(default_factory=dict)
    prefix: str = ""
    changes: dict[int, int] = field(default_factory=dict)


class _Ms(int):
    """Milliseconds since the epoch inside a document."""


class _ChangeKey(int):
    """The key of a schedule change, as an alert's cause tells it."""


Change = Callable[[Any, Renaming], Any]


@dataclass(frozen=True, slots=True)
class Kept:
    """One row as it is stored, and which of its columns differ from copy to copy.

    `told` is the same as the data base takes it, but for the column that it counts itself, with how the changing ones
    are made ready for it: most of a copy's columns need no second thought then.
    """

    model: type[models.Model]
    columns: tuple[Any, ...]
    changing: tuple[tuple[int, Change], ...]
    fields: tuple[Any, ...]
    told: tuple[Any, ...]
    telling: tuple[tuple[int, Any, Change, Callable[[Any], Any] | None], ...]

    def copy(self, to: Renaming, **other: Any) -> Any:
        """A new row of the same model; `other` are columns told outright."""
        columns = list(self.columns)
        for place, change in self.changing:
            columns[place] = change(columns[place], to)
        row = self.model(*columns)
        for name, value in other.items():
            setattr(row, name, value)
        return row

    def values(self, to: Renaming) -> list[Any]:
        """The columns of a new row as the data base takes them, for `insert_values`."""
        told = list(self.told)
        for place, value, change, ready in self.telling:
            told[place] = ready(change(value, to)) if ready else change(value, to)
        return told


def keep(row: models.Model, known: set[UUID]) -> Kept:
    """Read a row; `known` are the ids that are others in every copy."""
    columns: list[Any] = []
    changing: list[tuple[int, Change]] = []
    fields: list[Any] = []
    told: list[Any] = []
    telling: list[tuple[int, Any, Change, Callable[[Any], Any] | None]] = []
    for place, column in enumerate(row._meta.concrete_fields):  # noqa: SLF001 - Django's documented way to the columns
        value, change = _column(row, column, known)
        columns.append(value)
        if change:
            changing.append((place, change))
        if isinstance(column, models.AutoField):
            continue
        ready = _ready(column, getattr(row, column.attname))
        if change:
            telling.append((len(told), value, change, ready))
            told.append(None)
        else:
            told.append(ready(value) if ready else value)
        fields.append(column)
    return Kept(type(row), tuple(columns), tuple(changing), tuple(fields), tuple(told), tuple(telling))


def _ready(column: Any, value: Any) -> Callable[[Any], Any] | None:
    """How a value of this column is made ready for the data base; None where it takes it as it is."""
    if isinstance(column, models.JSONField):
        return json.dumps
    if column.get_db_prep_save(value, connection) is value:
        return None
    return partial(column.get_db_prep_save, connection=connection)


def _column(row: models.Model, column: Any, known: set[UUID]) -> tuple[Any, Change | None]:
    """A column's value and how it changes; None where every copy has the same."""
    value = getattr(row, column.attname)
    if column.attname == "counter" and value is not None:
        # The site's own number rises along each phone too, and no two check-ins of a phone then have the same.
        return row.__dict__["seq"], _number
    if change := BY_NAME.get(column.attname):
        return value, change
    if isinstance(column, models.AutoField):
        return None, None  # the data base counts it
    if isinstance(value, UUID):
        return value, _id if value in known else None
    if isinstance(value, date):
        return value, _moved
    if isinstance(column, models.JSONField) or (isinstance(value, str) and len(value) >= len(CHANGE_OF_SCHEDULE)):
        template = _template(value, known)
        return (value, None) if template == value and type(template) is type(value) else (template, _filled)
    return value, None


def _number(value: int, to: Renaming) -> int:
    return to.numbers[value]


def _prefixed(value: str, to: Renaming) -> str:
    return to.prefix + value


def _id(value: UUID, to: Renaming) -> UUID:
    return to.ids[value]


def _moved(value: date, to: Renaming) -> date:
    return value + to.shift


BY_NAME: Mapping[str, Change] = {"seq": _number, "number": _prefixed, "opening_number": _prefixed}


def _template(value: Any, known: set[UUID]) -> Any:
    """A document with ids and moments in place of the words that tell them; equal to it where there are none."""
    if isinstance(value, dict):
        return {_template(name, known): _template(each, known) for name, each in value.items()}
    if isinstance(value, list):
        return [_template(each, known) for each in value]
    if isinstance(value, str):
        return _of_text(value, known)
    if isinstance(value, int) and FIRST_MS <= value < LAST_MS:
        return _Marked(_Ms(value))
    return value


def _of_text(text: str, known: set[UUID]) -> Any:
    if text.startswith(CHANGE_OF_SCHEDULE):
        return _Marked(_ChangeKey(text.removeprefix(CHANGE_OF_SCHEDULE)))
    if MOMENT.fullmatch(text):
        return _Marked(datetime.fromisoformat(text))
    # A cause may be an id with a word behind it.
    first, colon, rest = text.partition(":")
    try:
        key = UUID(first) if len(first) == len(str(UUID(int=0))) else None
    except ValueError:
        return text
    return _Marked((key, colon + rest)) if key in known else text


@dataclass(frozen=True, slots=True)
class _Marked:
    """A place in a document where every copy has something of its own."""

    what: Any

    def filled(self, to: Renaming) -> Any:
        what = self.what
        if isinstance(what, _Ms):
            return int(what) + to.shift // MILLISECOND
        if isinstance(what, _ChangeKey):
            return f"{CHANGE_OF_SCHEDULE}{to.changes[what]}"
        if isinstance(what, datetime):
            return rfc3339(what + to.shift)
        key, rest = what
        return f"{to.ids[key]}{rest}"


def _filled(value: Any, to: Renaming) -> Any:
    kind = type(value)
    if kind is dict:
        return {_filled(name, to): _filled(each, to) for name, each in value.items()}
    if kind is list:
        return [_filled(each, to) for each in value]
    return value.filled(to) if kind is _Marked else value


class Ids:
    """Ids that are made anew for every copy, each as much earlier as the copy is, and in the same order."""

    def __init__(self, ids: Iterable[UUID]) -> None:
        self._bases: list[tuple[UUID, int]] = []
        last, within = -1, 0
        for each in sorted(ids):
            ms = each.int >> MS_AT
            within = within + 1 if ms == last else 0
            last = ms
            self._bases.append((each, (ms << MS_AT) | VERSION_7 | (within << 64) | VARIANT))

    def anew(self, shift: timedelta, rng: Random) -> dict[UUID, UUID]:
        """The new ids by the old ones."""
        later = (shift // MILLISECOND) << MS_AT
        return {each: UUID(int=base + later + rng.getrandbits(RANDOM_BITS)) for each, base in self._bases}
