"""The form of the reading table: an opening, a leaf where there is one, and what was read; all of it may be wrong."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext_lazy as _

from inspections.standards.clearances import GAP_RULES
from inspections.trueness.errors import ReadingError
from inspections.trueness.measures import FLOOR_RISE, MEASURES
from inspections.trueness.opening import FootOn, Hand
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.requests import CheckRequest, read_check_request
from sitetrack.desk.refused_readings import refusal_words
from sitetrack.desk.words import spoken, word
from sitetrack.kit.lengths import LONGEST_TEXT

READING = "reading_"
LONGEST_RISES = 400
EXAMPLE = {"width": "3'-0\"", "height": "7'-0\"", "leaves": "1"}
# What a frame is proved by, in the order a hand goes round it; the rest is for those who have it.
FIRST_READINGS = (
    "width_head", "width_mid", "width_floor", "hinge_plumb_side", "hinge_plumb_face", "strike_plumb_side",
    "strike_plumb_face", "squareness", "alignment", "twist",
)  # fmt: skip
OTHER_READINGS = tuple(name for name in MEASURES if name not in FIRST_READINGS)
# Where a refusal names a part of the request, the field that gave it.
FIELDS_BY_PATH = {"profile.units": "units", "profile.gap_rule": "gap_rule"}


def _length(label: Any, hint: str = "", longest: int = LONGEST_TEXT) -> forms.CharField:
    attributes = {"autocomplete": "off", "spellcheck": "false", "size": 10, "placeholder": hint}
    return forms.CharField(label=label, required=False, max_length=longest, widget=forms.TextInput(attrs=attributes))


def _choice(label: Any, choices: list[tuple[str, Any]]) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, required=False, choices=choices)


class ReadingTableForm(forms.Form):
    """What is asked; `asked` is the request it comes to, None while something in it cannot be used.

    With a `profile`, that of a site, units and gap rule are not asked: they are the site's.
    """

    width = _length(_("opening width"), "3'-0\"")
    height = _length(_("opening height"), "7'-0\"")
    leaves = _choice(_("leaves"), [("1", "1"), ("2", "2")])
    hand = _choice(_("hand"), [("", _("unknown")), *((hand, hand) for hand in Hand)])
    rating_minutes = forms.IntegerField(label=_("fire rating, minutes"), required=False, min_value=0, max_value=480)
    covering = _length(_("covering thickness"), "3/8")
    foot_on = _choice(_("frame foot stands on"), [(FootOn.SLAB, _("the slab")), (FootOn.FINISH, _("the finish floor"))])
    leaf_width = _length(_("leaf width, measured"), "35 3/4")
    leaf_height = _length(_("leaf height, measured"), "83 1/8")
    units = _choice(_("units"), [("imperial", _("inches")), ("metric", _("millimeters"))])
    gap_rule = _choice(_("gap rule"), [])

    def __init__(self, data: Mapping[str, Any], *, profile: ToleranceProfile | None = None) -> None:
        super().__init__(data, label_suffix="")
        self.profile = profile
        self.asked: CheckRequest | None = None
        self.fields["gap_rule"].choices = [(code, word("gap_rule", code)) for code in GAP_RULES]  # type: ignore[attr-defined]
        if profile is not None:
            del self.fields["units"], self.fields["gap_rule"]
        for name in (*FIRST_READINGS, *OTHER_READINGS):
            self.fields[READING + name] = _length(spoken({"en": MEASURES[name].en, "es": MEASURES[name].es}))
        self.fields[READING + FLOOR_RISE] = _length(
            _("floor under the swing, as degrees: rise"), "0: 0; 45: 1/8; 90: 1/4", LONGEST_RISES
        )

    def clean(self) -> dict[str, Any]:
        """Read the whole, taking out what can't be used, so that every field that is wrong hears of it at once."""
        given = {name: value for name, value in self.cleaned_data.items() if value not in (None, "")}
        while self.asked is None:
            try:
                asked = read_check_request(self._request(given))
            except ReadingError as error:
                name = _field_of(error.field)
                if name not in self.fields or name in self.errors:
                    break
                self.add_error(name, refusal_words(error))
                # What can't be done without is taken as any size, so that what is wrong further on is found too.
                given[name] = EXAMPLE.get(name, "")
            else:
                if self.errors:
                    break
                self.asked = asked
        return given

    def _request(self, given: Mapping[str, Any]) -> dict[str, Any]:
        opening = {name: given[name] for name in ("width", "height", "hand", "rating_minutes", "covering", "foot_on")
                   if given.get(name) not in (None, "")}  # fmt: skip
        opening["leaves"] = int(given.get("leaves", 1))
        leaf = {side: given[f"leaf_{side}"] for side in ("width", "height") if f"leaf_{side}" in given}
        readings = {name.removeprefix(READING): text for name, text in given.items() if name.startswith(READING)}
        if self.profile is not None:
            profile = self.profile.to_dict()
        else:
            profile = {name: given[name] for name in ("units", "gap_rule") if name in given}
        return {"opening": opening, "leaf": leaf or None, "readings": readings, "profile": profile}

    def of_opening(self) -> Iterator[BoundField]:
        """What the opening is."""
        return (self[name] for name in ("width", "height", "leaves", "hand", "rating_minutes"))

    def of_door(self) -> Iterator[BoundField]:
        """What decides whether a door fits, beyond the frame."""
        names = ("covering", "foot_on", "leaf_width", "leaf_height", "units", "gap_rule")
        return (self[name] for name in names if name in self.fields)

    def first_readings(self) -> Iterator[BoundField]:
        """The readings a frame is proved by."""
        return (self[READING + name] for name in FIRST_READINGS)

    def other_readings(self) -> Iterator[BoundField]:
        """Further readings, for those who have taken them."""
        return (self[READING + name] for name in (*OTHER_READINGS, FLOOR_RISE))

    def other_readings_used(self) -> bool:
        """Whether any of those holds something, so that it is not folded away."""
        return any(field.value() for field in self.other_readings())

    def door_used(self) -> bool:
        """The same of what is asked about the door."""
        usual = {"foot_on": FootOn.SLAB.value, "units": "imperial"}
        return any(field.value() not in (None, "", usual.get(field.name)) for field in self.of_door())


def _field_of(path: str) -> str:
    """The field that gave what a request's path names."""
    if path in FIELDS_BY_PATH:
        return FIELDS_BY_PATH[path]
    part, _dot, name = path.partition("[")[0].partition(".")
    return {"readings": READING + name, "leaf": f"leaf_{name}"}.get(part, name)
