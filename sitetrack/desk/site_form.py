"""The form of a site's settings, each with what follows from changing it."""

import zoneinfo
from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from openings.models import Site
from openings.services.site_settings import SETTINGS
from sitetrack.kit.problems import Problem

WEEKDAYS = (
    (1, _("Monday")), (2, _("Tuesday")), (3, _("Wednesday")), (4, _("Thursday")), (5, _("Friday")),
    (6, _("Saturday")), (7, _("Sunday")),
)  # fmt: skip
UNITS = ((Site.Units.IMPERIAL, _("feet and inches")), (Site.Units.METRIC, _("millimeters")))
CONSEQUENCES = {
    "time_zone": _("Days and weeks of the site are counted on this clock from now on; statuses already kept stay."),
    "units": _(
        "A new version of the tolerances is made in these units; what was judged keeps its own. Have every phone send "
        "what it holds first: a bare number it still holds would be read in the new units."
    ),
    "language": _("Of mail and statuses that go to nobody in particular. Each person reads pages in their own."),
    "report_hour": _("The weekly status is made at the first run after this hour, and counts what was known by then."),
    "hold_limit_days": _("A hold older than this raises an alert; a longer limit closes those it no longer finds."),
    "signer_differs_from_reader": _("Signatures already given keep counting as they did."),
    "supervisors_need_codes": _("A supervisor without a one-time code is asked to set one up at the next sign-in."),
}


def zone_field() -> forms.ChoiceField:
    """Every time zone there is, by its name in the IANA data base."""
    zones = sorted(zoneinfo.available_timezones())
    return forms.ChoiceField(label=_("Time zone"), choices=[(zone, zone) for zone in zones])


class SiteForm(forms.Form):
    """The settings as they stand, filled in."""

    name = forms.CharField(label=_("Name of the job"), max_length=120)
    time_zone = forms.ChoiceField(label=_("Time zone"))
    units = forms.ChoiceField(label=_("Units"), choices=UNITS)
    language = forms.ChoiceField(label=_("Language of the site"), choices=settings.LANGUAGES)
    report_weekday = forms.TypedChoiceField(label=_("Weekly status on"), choices=WEEKDAYS, coerce=int)
    report_hour = forms.IntegerField(label=_("at the hour, 0 to 23"), min_value=0, max_value=23)
    hold_limit_days = forms.IntegerField(label=_("A hold is too old after days"), min_value=0, max_value=365)
    starts_on = forms.DateField(
        label=_("Work starts on"), required=False, widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )
    ends_on = forms.DateField(
        label=_("Work ends on"), required=False, widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )
    contact = forms.CharField(label=_("Whom to ask about the job"), max_length=200, required=False)
    signer_differs_from_reader = forms.BooleanField(
        label=_("A check is signed by another person than its reader"), required=False
    )
    supervisors_need_codes = forms.BooleanField(
        label=_("Supervisors sign in with a one-time code as well"), required=False
    )

    def __init__(self, data: Any, *, site: Site) -> None:
        super().__init__(data, initial={name: getattr(site, name) for name in SETTINGS}, label_suffix="")
        self.fields["time_zone"] = zone_field()
        self.order_fields(["name", "time_zone"])
        for name, said in CONSEQUENCES.items():
            self.fields[name].help_text = said

    def clean(self) -> dict[str, Any]:
        starts, ends = self.cleaned_data.get("starts_on"), self.cleaned_data.get("ends_on")
        if starts and ends and ends < starts:
            self.add_error("ends_on", _("Work can't end before it starts."))
        return self.cleaned_data

    def refuse(self, problem: Problem) -> None:
        """Say a refusal beside the field it names, or above the form."""
        named = next((error.field for error in problem.errors if error.field in self.fields), None)
        self.add_error(named, problem.detail)


class NewSiteForm(forms.Form):
    """What a site can't do without: the rest is on its settings page."""

    name = forms.CharField(label=_("Name of the job"), max_length=120)
    code = forms.SlugField(
        label=_("Code"), max_length=20, help_text=_("Short, for addresses and files: letters, digits and hyphens.")
    )
    units = forms.ChoiceField(label=_("Units"), choices=UNITS)
    language = forms.ChoiceField(label=_("Language of the site"), choices=settings.LANGUAGES)
    company = forms.CharField(label=_("Company of its supervisor"), max_length=120)
    supervisor = forms.EmailField(label=_("E-mail address of its first supervisor"))

    def __init__(self, data: Any, *, address: str) -> None:
        super().__init__(data, initial={"supervisor": address, "time_zone": "America/Chicago"}, label_suffix="")
        self.fields["time_zone"] = zone_field()
        self.order_fields(["name", "code", "time_zone"])

    def refuse(self, problem: Problem) -> None:
        """Say each refusal beside the field it names, or above the form."""
        for error in problem.errors:
            self.add_error(error.field if error.field in self.fields else None, error.detail)
        if not problem.errors:
            self.add_error(None, problem.detail)

    def facts(self) -> dict[str, Any]:
        """The fields of the site itself."""
        return {name: self.cleaned_data[name] for name in ("name", "code", "time_zone", "units", "language")}
