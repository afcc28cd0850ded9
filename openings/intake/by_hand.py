"""Facts as a person types them on a page, read by the same readers and the same rules as a schedule's cells."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from openings.intake import values
from openings.intake.ratings import rating_minutes
from openings.intake.refusals import ReadingError
from openings.intake.walls import wall_told
from openings.selectors.facts import LONGEST, title
from sitetrack.kit.lengths import Unit
from sitetrack.kit.problems import BadInput, FieldError

LONGEST_WALL, LONGEST_FLOOR = 60, 120
Reader = Callable[[str, Unit], Any]


def _text(fact: str) -> Reader:
    return lambda text, _unit: values.short_text(text, LONGEST[fact])


def _side(text: str, _unit: Unit) -> str | None:
    return values.hinge_side(text)


# What may be typed of an opening, in the order a frame is ordered by.
TYPED: dict[str, Reader] = {
    "number": lambda text, _unit: values.opening_number(text, LONGEST["number"]),
    "floor": lambda text, _unit: values.short_text(text, LONGEST_FLOOR),
    "room_from": _text("room_from"),
    "room_to": _text("room_to"),
    "mark": _text("mark"),
    "width": values.side,
    "height": values.side,
    "size_is": lambda text, _unit: values.size_is(text),
    "leaves": lambda text, _unit: values.leaves(text),
    "hand": lambda text, _unit: values.hand(text),
    "hinges_seen_from_push": _side,
    "construction": lambda text, _unit: values.construction(text),
    "jamb_depth": values.depth,
    "wall": lambda text, _unit: values.short_text(text, LONGEST_WALL),
    "rating": lambda text, _unit: values.short_text(text, LONGEST["rating_text"]),
    "electrified": lambda text, _unit: values.yes_or_no(text),
    "hardware_set": _text("hardware_set"),
    "covering": _text("covering"),
    "covering_thickness": values.layer,
    "remarks": _text("remarks"),
}


def read_typed(typed: Mapping[str, str], *, unit: Unit) -> dict[str, Any]:
    """The facts as `edit_openings` takes them; an empty text is unknown. Raises BadInput with one error a field."""
    read: dict[str, Any] = {}
    errors: list[FieldError] = []
    for fact, text in typed.items():
        if fact not in TYPED:
            known = _("one of %(choices)s") % {"choices": ", ".join(TYPED)}
            errors.append(
                FieldError(fact, _("“%(fact)s” is no fact of an opening.") % {"fact": fact[:40]}, fact, known)
            )
            continue
        try:
            read |= _stored(fact, TYPED[fact](text.strip(), unit))
        except ReadingError as wrong:
            errors.append(FieldError(fact, typed_refusal(wrong), wrong.read, wrong.expected))
    if errors:
        raise BadInput(f"{title(errors[0].field)}: {errors[0].detail}", errors=errors)
    return read


def typed_refusal(wrong: ReadingError) -> str:
    """What was read, what would do, and how to mend it, in one or two sentences."""
    said = _("“%(read)s” can't be used here; expected: %(expected)s.") % {
        "read": wrong.read,
        "expected": wrong.expected,
    }
    return f"{said} {wrong.mend}".rstrip()


def _stored(fact: str, value: Any) -> dict[str, Any]:
    if fact == "wall":
        return {"wall": wall_told(value, "") if value else None}
    if fact == "rating":
        return {"rating_text": value, "rating_minutes": rating_minutes(value) if value else None}
    return {fact: value}


def typed_errors(problem: BadInput) -> Iterator[tuple[str, str]]:
    """Field and sentence of each error, by the name it was typed under."""
    for error in problem.errors:
        yield ("rating" if error.field.startswith("rating_") else error.field), error.detail
