"""A value that cannot be used, told in the reader's language beside the field that gave it."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.trueness.errors import ReadingError

SENTENCES: Mapping[str, Any] = {
    "length-unreadable": gettext_lazy(
        "“%(read)s” can't be read as a length. Write it as on a tape: 36 1/16, 36.0625, 3'-0 1/16\" or 917 mm."
    ),
    "length-too-long-text": gettext_lazy("“%(read)s” is too long for a length. Write it as on a tape: 36 1/16."),
    "length-out-of-range": gettext_lazy("“%(read)s” is more or less than this can be. Look at the tape again."),
    "length-not-positive": gettext_lazy("“%(read)s” is no size: a size is more than zero."),
    "reading-missing": gettext_lazy("This is needed: a length such as 3'-0\" or 914 mm."),
}


def refusal_words(error: ReadingError) -> str:
    """One sentence: what was read and what would do."""
    sentence = SENTENCES.get(error.code) or _("“%(read)s” can't be used here. Look at the example beside it.")
    return str(sentence) % {"read": error.read}
