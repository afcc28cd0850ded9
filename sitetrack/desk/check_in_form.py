"""The form of one check-in at an opening: what is asked depends on the stage and on what is being reported."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.models.checkins import Action
from inspections.selectors.record_lines import RecordLine
from inspections.selectors.stages import StageWords
from inspections.trueness.errors import ReadingError
from inspections.trueness.measures import MEASURES
from sitetrack.desk.refused_readings import refusal_words
from sitetrack.desk.words import spoken
from sitetrack.kit.clock import now
from sitetrack.kit.problems import Problem

LONGEST_NOTE = 2000
LONGEST_READING = 40

# What each action is called on its button, and what the note beside it is for.
BUTTONS = {
    Action.START: _("Start"),
    Action.FINISH: _("Finish"),
    Action.FAIL: _("Report as failed"),
    Action.SIGN: _("Sign"),
    Action.HOLD: _("Put on hold"),
    Action.RELEASE: _("Release the hold"),
    Action.NOTE: _("Note"),
    Action.VOID: _("Take back"),
}
NOTES = {
    Action.HOLD: _("What stops it, and who must act"),
    Action.RELEASE: _("What was settled"),
    Action.VOID: _("Why it is taken back"),
    Action.FAIL: _("What failed"),
    Action.NOTE: _("What you saw"),
}
WAIVER_NOTE = _("Why it may stand; the reason stays in the record for ever")
NOTE_NEEDED = {Action.HOLD, Action.NOTE, Action.VOID}
ABOUT_NEEDED = {Action.SIGN, Action.RELEASE, Action.VOID}
# A slip from Friday may be typed on Monday. What is signed, settled or taken back here happens here and now.
MAY_HAVE_BEEN_BEFORE = {Action.START, Action.FINISH, Action.FAIL, Action.HOLD, Action.NOTE}


def button_words(action: Action, stage: StageWords, *, waives: bool = False, corrects: bool = False) -> Any:
    """What the button of this action says at this stage."""
    if corrects:
        return _("Take back and report anew")
    if waives:
        return _("Let it stand")
    if stage.is_check and action == Action.FINISH:
        return _("Read and judge")
    return BUTTONS[action]


def as_said(line: RecordLine) -> dict[str, Any]:
    """What a check-in said, as first values of the form that says it anew."""
    answers = {f"answer_{code}": "yes" if given else "no" for code, given in line.answers.items()}
    return {f"reading_{name}": text for name, text in line.readings.items()} | answers | {"note": line.note}


class CheckInForm(forms.Form):
    """A check-in as a person types it; whether it may be stored is judged by the service.

    With `correct` it says anew the check-in that `about` names, and `why` that one is taken back.
    """

    stage = forms.CharField(widget=forms.HiddenInput)
    action = forms.ChoiceField(choices=Action.choices, widget=forms.HiddenInput)
    about = forms.UUIDField(required=False, widget=forms.HiddenInput)
    waive = forms.BooleanField(required=False, widget=forms.HiddenInput)
    correct = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, stage: StageWords, action: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.waives = action == Action.SIGN and bool(self["waive"].value())
        self.corrects = bool(self["correct"].value())
        self.wanted = {f"reading_{name}" for name in stage.required_readings}
        if stage.is_check and action in {Action.FINISH, Action.FAIL}:
            self._ask_checklist(stage)
            self._ask_readings(stage)
        self.fields["note"] = forms.CharField(
            label=WAIVER_NOTE if self.waives else NOTES.get(Action(action), _("Note")),
            required=self.waives or action in NOTE_NEEDED,
            max_length=LONGEST_NOTE,
            widget=forms.Textarea(attrs={"rows": 3}),
        )
        if action in MAY_HAVE_BEEN_BEFORE and not self.corrects:
            self.fields["happened_at"] = forms.DateTimeField(
                label=_("When it happened, if not just now (the site's clock)"),
                required=False,
                widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
            )
        if self.corrects:
            self.fields["why"] = forms.CharField(
                label=_("What was wrong with it; the reason stays in the record"),
                max_length=LONGEST_NOTE,
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    def _ask_checklist(self, stage: StageWords) -> None:
        for question in stage.checklist:
            self.fields[f"answer_{question.code}"] = forms.TypedChoiceField(
                label=spoken(question.text),
                choices=[("yes", _("yes")), ("no", _("no"))],
                required=False,
                empty_value=None,
                coerce=lambda given: given == "yes",
                widget=forms.RadioSelect,
            )

    def _ask_readings(self, stage: StageWords) -> None:
        for name in sorted(MEASURES, key=lambda name: name not in stage.required_readings):
            self.fields[f"reading_{name}"] = forms.CharField(
                label=spoken({"en": MEASURES[name].en, "es": MEASURES[name].es}),
                required=False,
                max_length=LONGEST_READING,
                widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off", "size": 12}),
            )

    def checklist(self) -> list[forms.BoundField]:
        """The questions asked."""
        return [self[name] for name in self.fields if name.startswith("answer_")]

    def wanted_readings(self) -> list[forms.BoundField]:
        """The readings this stage must have."""
        return [field for field in self._readings() if field.name in self.wanted]

    def other_readings(self) -> list[forms.BoundField]:
        """The readings that may be given besides."""
        return [field for field in self._readings() if field.name not in self.wanted]

    def other_readings_used(self) -> bool:
        """Whether any of those holds something, so that it is not folded away."""
        return any(field.value() or field.errors for field in self.other_readings())

    def clean_happened_at(self) -> datetime | None:
        """A time that is past, or none."""
        given: datetime | None = self.cleaned_data["happened_at"]
        if given and given > now():
            raise forms.ValidationError(_("This time is still to come. Leave it empty for what happened just now."))
        return given

    def refuse(self, problem: Problem) -> None:
        """Say a refusal beside the field it names, or above the form."""
        named = {error.field.rsplit(".", 1)[-1] for error in problem.errors}
        fields = [f"{kind}{name}" for kind in ("reading_", "answer_", "") for name in named]
        shown = {name for name, field in self.fields.items() if not field.widget.is_hidden}
        beside = next((name for name in fields if name in shown), None)
        cause = problem.__cause__
        self.add_error(beside, refusal_words(cause) if isinstance(cause, ReadingError) else problem.detail)

    def about_id(self) -> UUID | None:
        """The check-in that this one is about."""
        about: UUID | None = self.cleaned_data.get("about")
        return about

    def readings(self) -> dict[str, str]:
        """The readings given, as typed."""
        return self._given("reading_")

    def answers(self) -> dict[str, bool]:
        """The answers given; a signature that lets a failed check stand says so as one."""
        return self._given("answer_") | ({"waive": True} if self.waives else {})

    def _given(self, prefix: str) -> dict[str, Any]:
        return {
            name.removeprefix(prefix): value
            for name, value in self.cleaned_data.items()
            if name.startswith(prefix) and value not in (None, "")
        }

    def _readings(self) -> list[forms.BoundField]:
        return [self[name] for name in self.fields if name.startswith("reading_")]
