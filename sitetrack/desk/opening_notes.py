"""The notes of an opening's sheet: what can hurt someone here, and who has the last word."""

from django.utils.translation import gettext as _

from openings.models import Opening


def notes_for(opening: Opening) -> list[str]:
    """Numbered notes, as a drawing has them. Common practice of the trade; local codes and listings come first."""
    notes = [
        _(
            "A frame is heavy and falls over: two people lift it and stand it up, and it stays braced until it is "
            "anchored."
        )
    ]
    if opening.rating_minutes or (opening.rating_minutes is None and opening.rating_text):
        notes.append(
            _(
                "Fire rated: the label, its listing and the authority on site decide what may be cut, drilled, welded "
                "or shimmed. A missing or painted-over label is a matter for them, not for this sheet."
            )
        )
    if opening.electrified:
        notes.append(
            _(
                "Electrified: wiring is a licensed electrician's work under the local code. Treat every conductor as "
                "live until it has been tested dead."
            )
        )
    notes.append(_("Verdicts here are an aid. Codes, listings and licensed people on site go before them."))
    return notes
