"""The form of one stage of a drawn plan: every field of it in words, the questions of its checklist in rows."""

import re
from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspections.trueness.measures import MEASURES
from openings.sequence.plan_document import CODE, LONGEST_LIST, LONGEST_TEXT
from openings.sequence.stage import ChecklistItem, Kind, Mark, Role, Stage, Trade, WhenUnknown, Words
from sitetrack.access import roles
from sitetrack.desk.plan_words import AS_WRITTEN, CONDITIONS, MARKS, WHEN_UNKNOWN, condition_name, said
from sitetrack.desk.words import measure_name

SPARE_ROWS = 2
MOST_ROWS = LONGEST_LIST
FIRST = ""
KINDS = ((Kind.WORK.value, _("work: it changes the opening")), (Kind.CHECK.value, _("check: it reads the opening")))
TRADES = [(trade.value, roles.Trade(trade.value).label) for trade in Trade]
SIGNERS = [(role.value, roles.Role(role.value).label) for role in (Role.SUPERVISOR, Role.INSPECTOR, Role.CREW)]


def _text(label: Any, *, most: int = LONGEST_TEXT, required: bool = True) -> forms.CharField:
    return forms.CharField(label=label, max_length=most, required=required, widget=_typed())


def _typed() -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off"})


def _many(label: Any, choices: Sequence[tuple[Any, Any]]) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(label=label, choices=choices, required=False, widget=forms.CheckboxSelectMultiple)


class StageForm(forms.Form):
    """One stage as it stands in the draft, or a new one, which is the only one whose code may be chosen.

    A code is what check-ins name for ever: a stage is renamed by its titles.
    """

    based_on = forms.IntegerField(min_value=1, widget=forms.HiddenInput)

    def __init__(self, data: Any, *, stages: Sequence[Stage], stage: Stage | None, version: int) -> None:
        super().__init__(data, initial=_initial(stages, stage) | {"based_on": version}, label_suffix="")
        self.stage = stage
        self.taken = {each.code for each in stages}
        others = [(each.code, f"{each.code} · {said(each.title)}") for each in stages if each is not stage]
        fields = self.fields
        if stage is None:
            fields["code"] = _text(_("Code"), most=40)
        fields["title_en"] = _text(_("Title, English"))
        fields["title_es"] = _text(_("Title, Spanish"))
        fields["trade"] = forms.ChoiceField(
            label=_("Trade"), choices=[(t.value, roles.Trade(t.value).label) for t in Trade]
        )
        fields["kind"] = forms.ChoiceField(label=_("Kind"), choices=KINDS)
        fields["following"] = forms.ChoiceField(
            label=_("Listed after"), required=False, choices=[(FIRST, _("– first –")), *others]
        )
        fields["after"] = _many(_("Waits for"), others)
        fields["covers"] = _many(_("Covers: the work whose result it proves"), others)
        fields["hold_point"] = forms.BooleanField(label=_("Hold point: nothing passes it unsigned"), required=False)
        fields["sign_roles"] = _many(_("May be signed by"), SIGNERS)
        fields["marks"] = _many(_("Marks"), [(mark.value, MARKS[mark]) for mark in Mark])
        fields["required_readings"] = _many(_("Required readings"), _readings(stage))
        fields["weight"] = forms.IntegerField(label=_("Weight in the progress"), min_value=0, max_value=1000)
        written = [(AS_WRITTEN, _("as it is written"))] if _name_of(stage) == AS_WRITTEN else []
        fields["applies_when"] = forms.ChoiceField(
            label=_("Needed"), required=False,
            choices=[("", _("at every opening")), *((n, w) for n, (w, _c) in CONDITIONS.items()), *written],
        )  # fmt: skip
        fields["if_unknown"] = forms.ChoiceField(
            label=_("Where the schedule does not tell"), choices=[(w.value, words) for w, words in WHEN_UNKNOWN.items()]
        )
        self.rows = _row_count(data, stage)
        for n in range(self.rows):
            self._add_row(n)

    def _add_row(self, n: int) -> None:
        self.fields[f"item{n}_code"] = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)
        self.fields[f"item{n}_en"] = _text(_("Question, English"), required=False)
        self.fields[f"item{n}_es"] = _text(_("Question, Spanish"), required=False)
        self.fields[f"item{n}_expect"] = forms.ChoiceField(
            label=_("Right answer"), choices=[("yes", _("yes")), ("no", _("no"))]
        )
        self.fields[f"item{n}_spreaders"] = forms.BooleanField(
            label=_("Right answer says the spreaders are in"), required=False
        )

    def questions(self) -> Iterator[dict[str, Any]]:
        """The rows of the checklist, each with its fields by name."""
        for n in range(self.rows):
            yield {name: self[f"item{n}_{name}"] for name in ("code", "en", "es", "expect", "spreaders")} | {"n": n + 1}

    def clean_code(self) -> str:
        code = str(self.cleaned_data["code"]).strip()
        if not CODE.fullmatch(code):
            raise forms.ValidationError(
                _("A code is small letters, digits and underscores, a letter first. Example: set_sill")
            )
        if code in self.taken:
            raise forms.ValidationError(_("The plan has a stage of this code already. Choose another."))
        return code

    def clean(self) -> dict[str, Any]:
        for n in range(self.rows):
            english, spanish = (self.cleaned_data.get(f"item{n}_{language}", "") for language in ("en", "es"))
            if bool(english) is not bool(spanish):
                self.add_error(
                    f"item{n}_{'es' if english else 'en'}", _("Ask it in both languages, or empty both to drop it.")
                )
        return self.cleaned_data

    def made(self) -> Stage:
        """The stage as typed."""
        given = self.cleaned_data
        chosen = given["applies_when"]
        kept = self.stage.applies_when if self.stage and chosen == AS_WRITTEN else None
        return Stage(
            code=self.stage.code if self.stage else given["code"],
            title=Words(given["title_en"], given["title_es"]),
            trade=Trade(given["trade"]),
            kind=Kind(given["kind"]),
            after=self._listed("after"),
            covers=self._listed("covers"),
            hold_point=given["hold_point"],
            marks=tuple(Mark(mark) for mark in self._listed("marks")),
            sign_roles=tuple(Role(role) for role in self._listed("sign_roles")),
            checklist=tuple(self._checklist()),
            required_readings=self._listed("required_readings"),
            weight=given["weight"],
            applies_when=CONDITIONS[chosen][1] if chosen in CONDITIONS else kept,
            if_unknown=WhenUnknown(given["if_unknown"]),
        )

    def _listed(self, name: str) -> tuple[str, ...]:
        """What is ticked: first what was listed before, in that order, so that a form left alone changes nothing."""
        ticked = self.cleaned_data[name]
        before = [str(each) for each in getattr(self.stage, name)] if self.stage else []
        return tuple(dict.fromkeys([*(each for each in before if each in ticked), *ticked]))

    def _checklist(self) -> Iterator[ChecklistItem]:
        given = self.cleaned_data
        known = {item.code for item in self.stage.checklist} if self.stage else set()
        taken = {given[f"item{n}_code"] for n in range(self.rows)}
        for n in range(self.rows):
            if not given[f"item{n}_en"]:
                continue
            code = given[f"item{n}_code"]
            if code not in known:
                code = _code_of(given[f"item{n}_en"], taken)
                taken.add(code)
            yield ChecklistItem(
                code,
                Words(given[f"item{n}_en"], given[f"item{n}_es"]),
                expect=given[f"item{n}_expect"] == "yes",
                proves_spreaders=given[f"item{n}_spreaders"],
            )


def _readings(stage: Stage | None) -> list[tuple[str, str]]:
    """Every measure, and what the stage asks for besides, with its name."""
    names = dict.fromkeys([*MEASURES, *(stage.required_readings if stage else ())])
    return [(name, measure_name(name)) for name in names]


def _name_of(stage: Stage | None) -> str:
    return condition_name(stage.applies_when if stage else None)


def _row_count(data: Any, stage: Stage | None) -> int:
    """As many rows as were sent, or those of the stage and a few to spare; no stage may have more than the most."""
    if data is not None:
        sent = [int(m[1]) for name in data if (m := re.fullmatch(r"item([0-9]{1,3})_en", name))]
        return min(max(sent, default=-1) + 1, MOST_ROWS)
    return min((len(stage.checklist) if stage else 0) + SPARE_ROWS, MOST_ROWS)


def _initial(stages: Sequence[Stage], stage: Stage | None) -> dict[str, Any]:
    if stage is None:
        last = stages[-1].code if stages else FIRST
        return {"kind": Kind.WORK.value, "weight": 1, "following": last, "if_unknown": WhenUnknown.NEEDED.value}
    place = [each.code for each in stages].index(stage.code)
    found: dict[str, Any] = {
        "title_en": stage.title.en,
        "title_es": stage.title.es,
        "trade": stage.trade.value,
        "kind": stage.kind.value,
        "following": stages[place - 1].code if place else FIRST,
        "after": list(stage.after),
        "covers": list(stage.covers),
        "hold_point": stage.hold_point,
        "sign_roles": [role.value for role in stage.sign_roles],
        "marks": [mark.value for mark in stage.marks],
        "required_readings": list(stage.required_readings),
        "weight": stage.weight,
        "applies_when": _name_of(stage),
        "if_unknown": stage.if_unknown.value,
    }
    for n, item in enumerate(stage.checklist):
        found |= {
            f"item{n}_code": item.code,
            f"item{n}_en": item.text.en,
            f"item{n}_es": item.text.es,
            f"item{n}_expect": "yes" if item.expect else "no",
            f"item{n}_spreaders": item.proves_spreaders,
        }
    return found


def _code_of(text: str, taken: set[str]) -> str:
    """A code for a new question, from its first words."""
    words = re.findall(r"[a-z0-9]+", text.lower())
    plain = "_".join(words[:4])[:34].strip("_")
    code = plain if CODE.fullmatch(plain) else f"q_{plain}".rstrip("_")
    number, found = 2, code
    while found in taken:
        found, number = f"{code}_{number}", number + 1
    return found


def title_of(stage: Stage | None) -> str:
    """What the form is headed by."""
    return said(stage.title) if stage else gettext("A new stage")
