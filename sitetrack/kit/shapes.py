"""How values are shown in answers: moments as RFC 3339, lengths as text and numbers in the site's units."""

from datetime import datetime
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from sitetrack.kit.clock import rfc3339
from sitetrack.kit.fields import LengthField
from sitetrack.kit.length_words import length_refusal
from sitetrack.kit.lengths import (
    BARE_UNIT,
    EXAMPLES,
    LONGEST_TEXT,
    Length,
    LengthError,
    UnitSystem,
    length_json,
    parse_length,
)
from sitetrack.kit.moments import EXAMPLE, parse_rfc3339

LENGTH_SCHEMA = {
    "type": "object",
    "required": ["text", "in", "mm"],
    "properties": {"text": {"type": "string"}, "in": {"type": "number"}, "mm": {"type": "number"}},
    "example": {"text": '36"', "in": 36.0, "mm": 914.4},
}


class Moment(serializers.DateTimeField):
    """A moment as RFC 3339 text in UTC."""

    def to_representation(self, value: datetime) -> str:
        return rfc3339(value)


class MomentInput(serializers.DateTimeField):
    """A moment as RFC 3339 text with its offset, and nothing looser."""

    def to_internal_value(self, data: Any) -> datetime:
        moment = parse_rfc3339(data) if isinstance(data, str) else None
        if moment is None:
            raise serializers.ValidationError(f"No RFC 3339 time with Z or its offset, such as {EXAMPLE}.")
        return moment


@extend_schema_field(LENGTH_SCHEMA)
class LengthAnswer(serializers.Field[Any, Any, Any, Any]):
    """A length in the units of the site that the row belongs to."""

    def get_attribute(self, instance: Any) -> tuple[Length, UnitSystem] | None:
        length = super().get_attribute(instance)
        return None if length is None else (length, instance.site.units)

    def to_representation(self, value: tuple[Length, UnitSystem]) -> dict[str, Any]:
        length, units = value
        return dict(length_json(length, units=units))


@extend_schema_field(
    {
        "type": ["string", "number"],
        "maxLength": LONGEST_TEXT,
        "description": f"A length such as {EXAMPLES}; a bare number is in the site's units.",
    }
)
class LengthInput(serializers.Field[Any, Any, Any, Any]):
    """A length as written on a job; the serializer's context says the site's `units`."""

    def to_internal_value(self, data: Any) -> Length:
        try:
            return parse_length(data, unit=BARE_UNIT[self.context["units"]])
        except LengthError as error:
            raise serializers.ValidationError(length_refusal(error)) from error


class AnswerSerializer(serializers.ModelSerializer[Any]):
    """A row as it is answered; nothing of it can be written."""

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        **dict.fromkeys([LengthField], LengthAnswer),
    }

    def build_standard_field(self, field_name: str, model_field: Any) -> Any:
        kind, options = super().build_standard_field(field_name, model_field)
        return (Moment if kind is serializers.DateTimeField else kind), options

    def include_extra_kwargs(self, kwargs: Any, extra_kwargs: Any) -> Any:
        # A choice not made is answered as empty text, and the document has to say so.
        blank = kwargs.get("allow_blank") and "choices" in kwargs
        options = super().include_extra_kwargs(kwargs, extra_kwargs)
        return {**options, "allow_blank": True} if blank else options

    def get_extra_kwargs(self) -> Any:
        extra = super().get_extra_kwargs()
        return {name: {**extra.get(name, {}), "read_only": True} for name in self.Meta.fields}
