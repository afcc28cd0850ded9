"""Django's `date` filter, with months as the reader's language writes them.

It is a built-in of the templates (settings.TEMPLATES) under Django's own name: no page has to think of it.
"""

from typing import Any

from django import template
from django.template.defaultfilters import date as written

from sitetrack.kit.day_words import form_of

register = template.Library()


@register.filter(expects_localtime=True, is_safe=False)
def date(value: Any, form: str | None = None) -> str:
    """The day or moment by a format, or by the language's own."""
    return written(value, form and form_of(form))
