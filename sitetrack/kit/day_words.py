"""Days and hours in words, as the reader's language writes them."""

from datetime import date

from django.utils.formats import date_format
from django.utils.translation import get_language

# Languages that write months small. Django's "M" is a capital in every language; its "b" is as the catalogue has it.
SMALL_MONTHS = {"es"}


def form_of(form: str) -> str:
    """A format for dates, such as "j M H:i", as the language now switched on writes it."""
    return form.replace("M", "b") if (get_language() or "")[:2] in SMALL_MONTHS else form


def day_words(moment: date, form: str) -> str:
    """A day, or a moment on the clock it is given in, by a format such as "j M H:i"."""
    return date_format(moment, form_of(form))
