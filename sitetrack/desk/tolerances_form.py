"""The form in which a supervisor changes a site's tolerances: what is typed over counts, what is left alone stays."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext_lazy as _

from inspections.standards.anchors import ANCHOR_RULE_SETS
from inspections.standards.clearances import GAP_RULES
from inspections.standards.limits import Limit
from inspections.trueness.profile import LONGEST_SOURCE, ToleranceProfile
from sitetrack.desk.words import word
from sitetrack.kit.lengths import LONGEST_TEXT, UnitSystem, format_length
from sitetrack.kit.problems import Problem


class TolerancesForm(forms.Form):
    """One field a setting, filled with how it stands; an emptied limit goes back to what is published."""

    based_on = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    said_in = forms.CharField(
        label=_("Where this site's documents say so"), required=False, max_length=LONGEST_SOURCE,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, data: Any, *, version: int, profile: ToleranceProfile) -> None:
        super().__init__(data, initial={"based_on": version}, label_suffix="")
        self.shown = shown_settings(profile)
        for name, text in self.shown.items():
            choices = rule_choices(name)
            if choices:
                self.fields[name] = forms.ChoiceField(choices=choices, required=False, initial=text)
            else:
                attributes = {"autocomplete": "off", "size": 8}
                self.fields[name] = forms.CharField(
                    required=False, max_length=LONGEST_TEXT, initial=text, widget=forms.TextInput(attrs=attributes)
                )

    def changes(self) -> dict[str, object]:
        """The settings typed over, by name. A limit shown rounded and left alone must not become its rounding."""
        typed = {name: self.cleaned_data.get(name, "") for name in self.shown}
        return {name: _as_setting(name, text) for name, text in typed.items() if text != self.shown[name]}

    def refuse(self, problem: Problem) -> None:
        """Say a refusal beside the field it names, or above the form."""
        named = [error.field.removeprefix("profile.").partition(".")[0] for error in problem.errors]
        beside = next((name for name in named if name in self.fields), None)
        self.add_error(beside, problem.detail)

    def limits(self) -> Iterator[tuple[str, BoundField]]:
        """The fields of limits, by setting."""
        return ((name, self[name]) for name in self.shown if not rule_choices(name))


def shown_settings(profile: ToleranceProfile) -> dict[str, str]:
    """Every setting a supervisor may change, as it is shown and typed."""
    shown = {name: shown_limit(limit, profile.units) for name, limit in limits_of(profile).items()}
    return shown | {
        "max_swing": str(profile.max_swing),
        "gap_rule": profile.gap_rule,
        "anchor_rule_set": profile.anchor_rule_set or "",
    }


def limits_of(profile: ToleranceProfile) -> Mapping[str, Limit]:
    """The limits of a profile by name, in their order."""
    found = {name: getattr(profile, name) for name in profile.to_dict() if name != "form"}
    return {name: value for name, value in found.items() if isinstance(value, Limit)}


def shown_limit(limit: Limit, units: UnitSystem) -> str:
    """A limit in the site's units, to 1/64 in or 0.1 mm."""
    return format_length(limit.length, units=units, denominator=64)


def rule_choices(name: str) -> list[tuple[str, str]]:
    """What a setting may be chosen from; empty for one that is typed."""
    if name == "gap_rule":
        return [(code, word("gap_rule", code)) for code in GAP_RULES]
    if name == "anchor_rule_set":
        return [(code, word("rule_set", code)) for code in ("", *ANCHOR_RULE_SETS)]
    return []


def _as_setting(name: str, text: str) -> object:
    if name == "max_swing" and text.strip().isdecimal():
        return int(text)
    return text.strip()
