"""The form in which a person corrects an opening, or adds one; read as a schedule's cells are."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.words import CONSTRUCTIONS, YES_NO
from openings.intake.by_hand import LONGEST_FLOOR, LONGEST_WALL, TYPED, read_typed, typed_errors
from openings.intake.taking_in import unit_of
from openings.models import Opening, Site
from openings.selectors.facts import LENGTH_FACTS, LONGEST, SIDES, title
from sitetrack.desk.schedule_form import EXAMPLES
from sitetrack.desk.words import SIDES as SIDE_WORDS
from sitetrack.desk.words import SIZE_IS
from sitetrack.kit.lengths import format_length
from sitetrack.kit.problems import BadInput

CHOSEN: Mapping[str, Mapping[str, Any]] = {
    "size_is": SIZE_IS,
    "leaves": {"1": "1", "2": "2"},
    "hand": {hand: hand for hand in Opening.Hand.values},
    "hinges_seen_from_push": SIDE_WORDS,
    "construction": CONSTRUCTIONS,
    "electrified": YES_NO,
}
MOST = {**LONGEST, "floor": LONGEST_FLOOR, "wall": LONGEST_WALL, "rating": LONGEST["rating_text"]}
LONGEST_LENGTH = 40
RATED_AS = {None: "", 0: "NR"}


def typed_of(opening: Opening, site: Site) -> dict[str, str]:
    """The opening's facts as a person would type them."""
    units = site.unit_system
    typed = {}
    for fact in TYPED:
        if fact in LENGTH_FACTS:
            length = getattr(opening, fact)
            feet = fact in SIDES
            typed[fact] = "" if length is None else format_length(length, units=units, denominator=64, feet=feet)
        elif fact == "electrified":
            typed[fact] = {None: "", True: "yes", False: "no"}[opening.electrified]
        elif fact == "rating":
            typed[fact] = opening.rating_text or RATED_AS.get(opening.rating_minutes, f"{opening.rating_minutes} MIN")
        else:
            value = getattr(opening, fact)
            typed[fact] = "" if value is None else str(value)
    return typed


class EditForm(forms.Form):
    """Every fact that may be typed. What a person saw rides along, so that only what they changed is changed."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=0, max_value=2**31)

    def __init__(self, data: Any = None, *, site: Site, initial: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, initial=dict(initial or {}), label_suffix="")
        self._site = site
        for fact in TYPED:
            self.fields[fact] = self._field(fact)

    def _field(self, fact: str) -> forms.Field:
        label = _("fire rating") if fact == "rating" else title(fact)
        if fact in CHOSEN:
            options = [("", _("unknown")), *CHOSEN[fact].items()]
            return forms.ChoiceField(label=label, choices=options, required=False, show_hidden_initial=True)
        attributes = {"placeholder": EXAMPLES.get(fact, ""), "autocomplete": "off"}
        widget = forms.Textarea({**attributes, "rows": 3}) if fact == "remarks" else forms.TextInput(attributes)
        most = LONGEST_LENGTH if fact in LENGTH_FACTS else MOST[fact]
        return forms.CharField(label=label, required=False, max_length=most, widget=widget, show_hidden_initial=True)

    def typed_fields(self) -> Iterator[forms.BoundField]:
        """The fields of facts, in the order a frame is ordered by."""
        return (self[fact] for fact in TYPED)

    @property
    def changed(self) -> list[str]:
        """Facts whose text is another than what was seen."""
        return [fact for fact in self.changed_data if fact in TYPED]

    def facts(self) -> dict[str, Any]:
        """What was changed, read; raises BadInput where it can't be."""
        return read_typed({fact: self.cleaned_data[fact] for fact in self.changed}, unit=unit_of(self._site))

    def refuse(self, problem: BadInput) -> None:
        """Say each error beside its field, or above the form."""
        for name, said in typed_errors(problem):
            self.add_error(name if name in self.fields else None, said)
        if not problem.errors:
            self.add_error(None, problem.detail)

    def meanwhile(self, now: Mapping[str, str], version: int) -> tuple["EditForm", list[tuple[str, str, str]]]:
        """The form again as somebody else left the opening: what this person typed is kept, the rest is as it is now.

        Beside it each fact where the two differ: its name, as it stands now, as it was typed.
        """
        typed = {fact: self.data.get(fact, "") if fact in self.changed else text for fact, text in now.items()}
        seen = {f"initial-{fact}": text for fact, text in now.items()}
        both = [(title(fact), now[fact], typed[fact]) for fact in self.changed if now[fact] != typed[fact]]
        return EditForm({**typed, **seen, "version": str(version)}, site=self._site), both
