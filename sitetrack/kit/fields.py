"""Model fields of exact lengths, and of large JSON of our own."""

from typing import Any

import orjson
from django.db import models
from django.db.models.fields.json import KeyTransform

from sitetrack.kit.lengths import Length


class LengthField(models.Field):
    """An exact length, stored as whole nanometres so that inches in 64ths and millimetres are both exact and sort."""

    # What the type checker is told that attributes of this field take and give.
    _pyi_private_set_type: Length | int
    _pyi_private_get_type: Length
    _pyi_lookup_exact_type: Length | int

    def get_internal_type(self) -> str:
        return "BigIntegerField"

    def from_db_value(self, value: int | None, *_: Any) -> Length | None:
        return None if value is None else Length(value)

    def to_python(self, value: Any) -> Length | None:
        if value is None or isinstance(value, Length):
            return value
        return Length(int(value))

    def get_prep_value(self, value: Any) -> int | None:
        value = super().get_prep_value(value)
        return value.nm if isinstance(value, Length) else value

    def value_to_string(self, obj: models.Model) -> str:
        value: Length | None = getattr(obj, self.attname)
        return "" if value is None else str(value.nm)


class OwnJSONField(models.JSONField):
    """JSON that this server alone has made, read several times as fast as what others sent and may say anything.

    To migrations it is a plain JSON column.
    """

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        if isinstance(expression, KeyTransform) or not isinstance(value, str):
            return super().from_db_value(value, expression, connection)
        return orjson.loads(value)

    def deconstruct(self) -> Any:
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.JSONField", args, kwargs
