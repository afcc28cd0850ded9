"""The form in which a person settles what a schedule's columns hold and what stands where nothing is told."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from openings.intake.readings import Choices
from openings.intake.settled import DEFAULTABLE, MAPPABLE, UNITS, Settled, read_settled
from sitetrack.desk.words import SCHEDULE_FIELDS

TITLES: Mapping[str, Any] = {
    **SCHEDULE_FIELDS,
    "building": _("building"),
    "size": _("size, width and height in one column"),
    "rating": _("fire rating"),
    "wall_kind": _("kind of wall"),
    "frame_material": _("material of the frame"),
}
EXAMPLES = {
    "floor": "1", "building": "A", "width": "3'-0\"", "height": "7'-0\"", "size_is": "opening", "leaves": "1",
    "construction": "welded", "hand": "RH", "jamb_depth": "5 3/4\"", "wall": "P1", "wall_kind": "steel_stud",
    "rating": "NR", "electrified": "no", "hardware_set": "HW-1", "covering": "sealed concrete",
    "covering_thickness": "1/8\"",
}  # fmt: skip


class SettleForm(forms.Form):
    """Fields by what the file offers: columns for a table, the number's source for a model.

    Doubtful types are ticked beside it: `asked` names each type that was shown, `ours` each that was ticked.
    """

    def __init__(self, data: Any, choices: Choices, settled: Settled) -> None:
        super().__init__(data, label_suffix="")
        self._settled, self._choices = settled, choices
        if len(choices.sheets) > 1:
            self._choose("sheet", _("Sheet"), [(name, name) for name in choices.sheets], settled.sheet)
        if choices.number_sources:
            self._choose("number_source", _("Opening number is read from"), list(choices.number_sources.items()),
                         settled.number_source)  # fmt: skip
        for fact in MAPPABLE if choices.headings else ():
            columns = [("", _("no column")), *((name, self._sampled(name)) for name in choices.headings)]
            self._choose(f"column-{fact}", TITLES.get(fact, fact), columns, settled.columns.get(fact, ""))
        if choices.headings:
            self._choose("unit", _("Numbers without a mark are in"), [(unit, unit) for unit in UNITS], settled.unit)
        for fact in DEFAULTABLE:
            self.fields[f"default-{fact}"] = forms.CharField(
                label=TITLES.get(fact, fact), required=False, max_length=80, initial=settled.defaults.get(fact, ""),
                widget=forms.TextInput(attrs={"placeholder": EXAMPLES.get(fact, ""), "autocomplete": "off"}),
            )  # fmt: skip
        self._tick("partial", _("The file lists only part of the site: leave the other openings as they are"))
        self._tick("blank_clears", _("A blank cell takes back what was known before"))
        if choices.number_sources or "x" in settled.columns:
            said = _("The file's positions count, also where somebody set an opening down elsewhere on the plan")
            self._tick("file_positions", said)

    def _choose(self, name: str, label: Any, options: list[Any], initial: str) -> None:
        self.fields[name] = forms.ChoiceField(label=label, choices=options, initial=initial, required=False)

    def _tick(self, name: str, label: Any) -> None:
        self.fields[name] = forms.BooleanField(label=label, required=False, initial=getattr(self._settled, name))

    def _sampled(self, heading: str) -> str:
        samples = ", ".join(self._choices.samples.get(heading, ())[:3])
        return f"{heading}: {samples}"[:80] if samples else heading

    def columns(self) -> Iterator[BoundField]:
        """The fields of the facts a column was found for."""
        return (field for field in self if field.name.startswith("column-") and field.value())

    def columns_open(self) -> Iterator[BoundField]:
        """The fields of the facts no column was found for."""
        return (field for field in self if field.name.startswith("column-") and not field.value())

    def defaults(self) -> Iterator[BoundField]:
        """The fields for what stands where nothing is told."""
        return (field for field in self if field.name.startswith("default-"))

    @property
    def names_number(self) -> bool:
        """Whether a column holds the opening number; without it nothing can be read."""
        return "number" in self._settled.columns

    @property
    def has_defaults(self) -> bool:
        """Whether anything was settled to stand where nothing is told."""
        return bool(self._settled.defaults)

    def sources(self) -> Iterator[BoundField]:
        """The choices that come before the columns."""
        return (self[name] for name in ("sheet", "number_source", "unit") if name in self.fields)

    def settled(self) -> Settled:
        """What the person settled; raises BadInput where it can't be."""
        given = self.cleaned_data
        # Types come and go with what is settled, so each says for itself that it was asked about.
        asked, ticked = self._names("asked"), self._names("ours")
        ours = (self._settled.ours - asked) | ticked
        sheet = given.get("sheet", self._settled.sheet)
        # Columns of one sheet mean nothing on another; there the headings are proposed anew.
        same_sheet = sheet == self._settled.sheet
        return read_settled(
            {
                "sheet": sheet,
                "columns": {fact: given.get(f"column-{fact}") or "" for fact in MAPPABLE} if same_sheet else {},
                "defaults": {fact: given[f"default-{fact}"] for fact in DEFAULTABLE},
                "unit": given.get("unit") or self._settled.unit,
                "number_source": given.get("number_source") or "",
                "ours": sorted(ours),
                "not_ours": sorted(self._settled.not_ours - ours),
                "partial": given["partial"],
                "blank_clears": given["blank_clears"],
                "file_positions": given.get("file_positions", False),
            }
        )

    def _names(self, name: str) -> set[str]:
        return set(self.data.getlist(name)) if isinstance(self.data, QueryDict) else set()
