"""Filters that refuse what they can't read, instead of passing over it."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django_filters import filters
from drf_spectacular.utils import extend_schema_field

from sitetrack.kit.lengths import EXAMPLES, Length, LengthError, parse_length

WORDS = {"true": True, "false": False}


class YesNoField(forms.Field):
    """`true` or `false`."""

    def to_python(self, value: Any) -> bool | None:
        if value in (None, ""):
            return None
        if value not in WORDS:
            raise ValidationError(f"{str(value)[:40]!r} is neither true nor false.")
        return WORDS[value]


@extend_schema_field({"type": "boolean"})
class YesNoFilter(filters.Filter):
    """A filter by yes or no."""

    field_class = YesNoField


class LengthFormField(forms.Field):
    """A length as written on a job; a bare number is inches."""

    def to_python(self, value: Any) -> Length | None:
        if value in (None, ""):
            return None
        try:
            return parse_length(str(value))
        except LengthError as error:
            raise ValidationError(str(error)) from error


@extend_schema_field({"type": "string", "description": f"A length such as {EXAMPLES}; a bare number is inches."})
class LengthFilter(filters.Filter):
    """A filter by an exact length."""

    field_class = LengthFormField
