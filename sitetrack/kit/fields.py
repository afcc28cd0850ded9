"""Model fields of exact lengths."""

from typing import Any

from django.db import models

from sitetrack.kit.lengths import Length


class LengthField(models.BigIntegerField):
    """An exact length, stored as whole nanometres so that inches in 64ths and millimetres are both exact and sort."""

    def from_db_value(self, value: int | None, *_: Any) -> Length | None:
        return None if value is None else Length(value)

    def to_python(self, value: Any) -> Length | None:
        if value is None or isinstance(value, Length):
            return value
        return Length(int(value))

    def get_prep_value(self, value: Any) -> int | None:
        return value.nm if isinstance(value, Length) else super().get_prep_value(value)

    def value_to_string(self, obj: models.Model) -> str:
        value = self.value_from_object(obj)
        return "" if value is None else str(value.nm)
