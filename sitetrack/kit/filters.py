"""Filters that refuse what they can't read, instead of passing over it."""

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _
from django_filters import filters
from drf_spectacular.utils import extend_schema_field

from sitetrack.kit.length_words import length_refusal
from sitetrack.kit.lengths import EXAMPLES as LENGTH_EXAMPLES
from sitetrack.kit.lengths import Length, LengthError, parse_length
from sitetrack.kit.moments import EXAMPLE, parse_rfc3339

WORDS = {"true": True, "false": False}


class YesNoField(forms.Field):
    """`true` or `false`."""

    def to_python(self, value: Any) -> bool | None:
        if value in (None, ""):
            return None
        if value not in WORDS:
            raise ValidationError(_("“%(read)s” is neither true nor false."), params={"read": str(value)[:40]})
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
            raise ValidationError("%(why)s", params={"why": length_refusal(error)}) from error


@extend_schema_field({"type": "string", "description": f"A length such as {LENGTH_EXAMPLES}; a bare number is inches."})
class LengthFilter(filters.Filter):
    """A filter by an exact length."""

    field_class = LengthFormField


class MomentFormField(forms.Field):
    """An RFC 3339 moment with its offset."""

    def to_python(self, value: Any) -> datetime | None:
        if value in (None, ""):
            return None
        moment = parse_rfc3339(str(value))
        if moment is None:
            why = _("“%(read)s” is no RFC 3339 time with Z or its offset, such as %(example)s.")
            raise ValidationError(why, params={"read": str(value)[:40], "example": EXAMPLE})
        return moment


@extend_schema_field({"type": "string", "format": "date-time", "description": f"RFC 3339, such as {EXAMPLE}."})
class MomentFilter(filters.Filter):
    """A filter by a moment."""

    field_class = MomentFormField
