"""The facts of an opening that a schedule tells or a person corrects: their names, limits, and how they read.

Unknown is not none: a fact that nobody told is None, or an empty text, and is shown as such.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from openings.models import Opening
from sitetrack.kit.lengths import Length, UnitSystem, format_length
from sitetrack.kit.problems import FieldError

# In the order a person reads them. `floor` and `wall` are told by name and looked up; `extra` is compared key by key.
SIMPLE_FACTS = (
    "number", "mark", "width", "height", "size_is", "leaves", "construction", "hand", "hinges_seen_from_push",
    "jamb_depth", "rating_text", "rating_minutes", "electrified", "hardware_set", "covering", "covering_thickness",
    "room_from", "room_to", "remarks", "source_key", "x", "y",
)  # fmt: skip
LENGTH_FACTS = frozenset({"width", "height", "jamb_depth", "covering_thickness"})
SIDES = frozenset({"width", "height"})  # written in feet and inches, as a schedule writes them
# What a schedule should tell of every opening, and what is listed where it does not.
WANTED_FACTS = (
    "floor", "width", "height", "size_is", "leaves", "construction", "hand", "jamb_depth", "wall", "rating_minutes",
    "electrified", "hardware_set", "covering",
)  # fmt: skip
TITLES: Mapping[str, Any] = {
    "number": _("opening number"),
    "floor": _("floor"),
    "plan": _("sequence plan"),
    "mark": _("frame mark"),
    "width": _("width"),
    "height": _("height"),
    "size_is": _("what the size measures"),
    "leaves": _("leaves"),
    "construction": _("construction"),
    "hand": _("hand"),
    "hinges_seen_from_push": _("hinges seen from the push side"),
    "jamb_depth": _("jamb depth"),
    "wall": _("wall"),
    "rating_text": _("fire rating as written"),
    "rating_minutes": _("fire rating"),
    "electrified": _("electrified"),
    "hardware_set": _("hardware set"),
    "covering": _("floor covering"),
    "covering_thickness": _("covering thickness"),
    "room_from": _("from room"),
    "room_to": _("to room"),
    "remarks": _("remarks"),
    "source_key": _("key in the model"),
    "x": _("position on the plan, meters to the right"),
    "y": _("position on the plan, meters up"),
}
# Most characters of each text, as its column in the database takes.
LONGEST = {
    "number": 40, "mark": 60, "size_is": 8, "construction": 12, "hand": 4, "hinges_seen_from_push": 5,
    "rating_text": 80, "hardware_set": 60, "covering": 80, "room_from": 80, "room_to": 80, "remarks": 4000,
    "source_key": 80,
}  # fmt: skip
# Openings have addresses: a browser takes dots between strokes for a way up, and these words for pages of an opening.
NO_NUMBER = re.compile(r"(?:^|/)\.{1,2}(?:/|$)|/(?:edit|listed|readings|takeoff)$")
CHOICES: dict[str, Sequence[str]] = {
    "size_is": Opening.SizeIs.values, "construction": Opening.Construction.values, "hand": Opening.Hand.values,
    "hinges_seen_from_push": ("left", "right"),
}  # fmt: skip
# Where the schedule tells no floor or building, openings stand on these until a revision or a person tells.
FLOOR_NOT_TOLD = "not told"
BUILDING_NOT_TOLD = "main"


@dataclass(frozen=True, slots=True)
class WallTold:
    """A wall build-up as far as a schedule or model tells it."""

    code: str
    kind: str = ""
    stud: Length | None = None
    thickness: Length | None = None
    boards_pull: tuple[str, ...] = ()
    boards_push: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ListedOpening:
    """One opening as a schedule lists it.

    `told` has a key for every simple fact the schedule has a place for; the value is None where that place is blank.
    `row` counts in the file; `where` says it in words.
    """

    row: int
    where: str
    number: str
    told: Mapping[str, Any]
    floor: str = ""
    building: str = ""
    elevation: Length | None = None
    wall: WallTold | None = None
    source_key: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """One fact that changes: its name, and the values before and after as they are stored.

    A floor or wall is told by its name; `was` is then the key of the row it was before.
    """

    field: str
    before: Any
    after: Any
    was: Any = None


def title(fact: str) -> str:
    """The trade's words for a fact, in the reader's language; a column kept as it came has its own heading."""
    return str(TITLES.get(fact, fact.removeprefix("extra:").replace("_", " ")))


def is_unknown(value: Any) -> bool:
    """Whether nobody told; 0 and False are told."""
    return value is None or value == ""


def shown(fact: str, value: Any, units: UnitSystem) -> str:
    """A fact as text for the record, empty where it is unknown; lengths keep 64ths so that no change is hidden."""
    if value is None:
        return ""
    if isinstance(value, Length):
        return format_length(value, units=units, denominator=64, feet=fact in SIDES)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def wrong_facts(values: Mapping[str, Any]) -> Iterator[FieldError]:
    """Yield what may not be stored, one error a fact; the same rules for a schedule and for a correction by hand."""
    for fact, value in values.items():
        wrong = _wrong_fact(fact, value)
        if wrong is not None:
            yield wrong


def can_be_number(text: str) -> bool:
    """Whether an opening may be called so."""
    return 0 < len(text) <= LONGEST["number"] and not NO_NUMBER.search(text)


def no_number_words() -> str:
    """Why a text can't be an opening's number."""
    return gettext("An address can't hold this as a number.")


def _wrong_fact(fact: str, value: Any) -> FieldError | None:
    if is_unknown(value):
        if fact != "number":
            return None
        return FieldError(
            "number", gettext("An opening needs its number."), "", gettext("the number on its tag"), example="101A"
        )
    named = {"fact": title(fact)}
    if fact in LENGTH_FACTS and not (value.nm > 0 or (fact == "covering_thickness" and value.nm == 0)):
        said, expected = gettext("%(fact)s: this must be more than zero."), gettext("more than 0")
        return FieldError(fact, said % named, f"{float(value.mm):g} mm", expected, "3'-0\"")
    if isinstance(value, str) and len(value) > LONGEST[fact]:
        most = gettext("at most %(n)d characters") % {"n": LONGEST[fact]}
        return FieldError(fact, gettext("%(fact)s: this is too long.") % named, value[:40] + "…", most)
    if fact == "number" and NO_NUMBER.search(value):
        return FieldError("number", no_number_words(), value, gettext("the number on its tag"), example="101A")
    if (allowed := CHOICES.get(fact)) and value not in allowed:
        expected = gettext("one of %(choices)s") % {"choices": ", ".join(allowed)}
        return FieldError(fact, gettext("%(fact)s: this is not known here.") % named, str(value), expected)
    if fact == "leaves" and value not in (1, 2):
        return FieldError(fact, gettext("A frame has one or two leaves."), str(value), gettext("1 or 2"), "1")
    if fact == "rating_minutes" and not 0 <= value <= 480:
        expected = gettext("0 to 480 minutes")
        return FieldError(fact, gettext("The fire rating is not plausible."), str(value), expected, "90")
    return None
