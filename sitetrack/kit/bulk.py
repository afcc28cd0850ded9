"""Many rows of one table in one statement, by the fastest way the data base has.

Django's own `bulk_create` spends most of its time on PostgreSQL quoting every value into one long text, and on SQLite
splits the rows so that a statement stays under its number of parameters. Here new rows go to PostgreSQL by COPY, and
rows that may be there already as one JSON document; SQLite takes both by one prepared statement.

The rows' own keys must be set, unless the data base counts them. No signals are sent.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, connection, connections, models, transaction

from sitetrack.kit.quick_json import json_text

# A row or two are quicker said than announced.
FEW = 4


def insert_rows(rows: Iterable[models.Model]) -> None:
    """Add new rows of one model; raises `IntegrityError` as any insert does."""
    rows = list(rows)
    if not rows:
        return
    model = type(rows[0])
    if len(rows) < FEW:
        model._default_manager.bulk_create(rows)  # noqa: SLF001 - Django's documented way to a model's manager
        return
    fields = _written(rows[0])
    insert_values(model, fields, (_values(row, fields) for row in rows))
    for row in rows:
        row._state.adding = False  # noqa: SLF001
        row._state.db = connection.alias  # noqa: SLF001


def insert_values(model: type[models.Model], fields: Sequence[Any], rows: Iterable[Sequence[Any]]) -> None:
    """Add new rows told as the data base takes them, column by column of `fields`; JSON may be told as text."""
    with transaction.atomic(savepoint=False), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with connection.wrap_database_errors, cursor.copy(f"COPY {_into(model, fields)} FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            cursor.executemany(_insert(model, fields), list(rows))


def upsert_rows(rows: Iterable[models.Model], *, unique: Sequence[str], update: Sequence[str]) -> None:
    """Add rows, or bring these fields of the row up to date that has the same `unique` fields already."""
    rows = list(rows)
    if not rows:
        return
    model = type(rows[0])
    fields = _written(rows[0])
    quote = connection.ops.quote_name
    keys = ", ".join(quote(_field(model, name).column) for name in unique)
    sets = ", ".join(f"{c} = EXCLUDED.{c}" for c in (quote(_field(model, name).column) for name in update))
    conflict = f" ON CONFLICT ({keys}) DO UPDATE SET {sets}"
    with transaction.atomic(savepoint=False), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            table = quote(model._meta.db_table)  # noqa: SLF001
            columns = ", ".join(quote(field.column) for field in fields)
            source = f"SELECT {columns} FROM json_populate_recordset(NULL::{table}, %s::json)"  # noqa: S608 - names only
            document = json_text([_document(row, fields) for row in rows])
            cursor.execute(f"INSERT INTO {_into(model, fields)} {source}{conflict}", [document])
        else:
            cursor.executemany(_insert(model, fields) + conflict, [_values(row, fields) for row in rows])


def _written(row: models.Model) -> list[Any]:
    """The columns that are written; a key that the data base counts is left to it."""
    return [
        field
        for field in row._meta.concrete_fields  # noqa: SLF001
        if not field.generated and not (isinstance(field, models.AutoField) and row.pk is None)
    ]


def _values(row: models.Model, fields: Sequence[Any]) -> list[Any]:
    real = connections[DEFAULT_DB_ALIAS]  # asked for once; `connection` looks it up at every touch
    return [_value(field, field.pre_save(row, add=True), real) for field in fields]


def _value(field: Any, value: Any, real: Any) -> Any:
    if isinstance(field, models.JSONField):
        return None if value is None else json_text(value)
    return field.get_db_prep_save(value, real)


def _document(row: models.Model, fields: Sequence[Any]) -> dict[str, Any]:
    return {field.column: _told(field, field.pre_save(row, add=True)) for field in fields}


def _told(field: Any, value: Any) -> Any:
    """A value as the JSON document tells it; PostgreSQL reads it as the column's own type."""
    if isinstance(field, models.JSONField):
        return value
    value = field.get_prep_value(value)
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def _insert(model: type[models.Model], fields: Sequence[Any]) -> str:
    places = ", ".join(["%s"] * len(fields))
    return f"INSERT INTO {_into(model, fields)} VALUES ({places})"  # noqa: S608 - names only


def _into(model: type[models.Model], fields: Sequence[Any]) -> str:
    quote = connection.ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    return f"{quote(model._meta.db_table)} ({columns})"  # noqa: SLF001


def _field(model: type[models.Model], name: str) -> Any:
    return model._meta.get_field(name)  # noqa: SLF001
