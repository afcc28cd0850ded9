"""Sheet F-7: the reading table, where anyone types what was read and sees at once what it comes to. Keeps nothing.

All that was typed stands in the address, so that it can be sent on, printed, and gone back to.
"""

from decimal import Decimal
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from inspections.selectors.nominal import nominal_opening
from inspections.selectors.opening_record import find_opening
from inspections.services.profiles import profile_in_force
from inspections.trueness.opening import NominalOpening
from openings.models import Opening
from sitetrack.desk.reading_table import answer_readings
from sitetrack.desk.reading_table_form import EXAMPLE, ReadingTableForm
from sitetrack.desk.sheets import READINGS, Desk, draw, site_page
from sitetrack.kit.lengths import NM_PER_INCH, NM_PER_MM, Length, UnitSystem, format_length

PART = "part"  # `?part=answer` asks for the answer alone, as the page's script does while one types


@login_required
@require_safe
def readings(request: HttpRequest) -> HttpResponse:
    """For anyone signed in: by the published tolerances, in the units one chooses."""
    form = ReadingTableForm(request.GET if "width" in request.GET else EXAMPLE)
    context = {"address": reverse("desk:readings"), **_answered(form)}
    if request.GET.get(PART) == "answer":
        return _answer_alone(request, context)
    whole = {"sheet": READINGS, "wide": True, **context}
    return render(request, "desk/reading_table.html", whole, status=_status(form))


@require_safe
@site_page
def site_readings(request: HttpRequest, desk: Desk) -> HttpResponse:
    """By the tolerances of a site."""
    return _site_page(request, desk, reverse("desk:site-readings", args=[desk.site.code]))


@require_safe
@site_page
def opening_readings(request: HttpRequest, desk: Desk, number: str) -> HttpResponse:
    """The same for an opening of the site, its size filled in from the schedule."""
    here = find_opening(desk.site, desk.person, number)
    if here is None:
        raise Http404("No opening of that number on this site.")
    return _site_page(request, desk, reverse("desk:opening-readings", args=[desk.site.code, here.number]), here)


def _site_page(request: HttpRequest, desk: Desk, address: str, here: Opening | None = None) -> HttpResponse:
    version, profile = profile_in_force(desk.site)
    told = _told(nominal_opening(here), profile.units) if here else EXAMPLE
    form = ReadingTableForm(request.GET if "width" in request.GET else told, profile=profile)
    context = {
        "address": address,
        "opening": here,
        "version": version,
        "units": profile.units,
        **_answered(form, here.number if here else ""),
    }
    if request.GET.get(PART) == "answer":
        return _answer_alone(request, context)
    return draw(request, desk, READINGS, "desk/reading_table.html", context, status=_status(form))


def _answered(form: ReadingTableForm, number: str = "") -> dict[str, Any]:
    form.full_clean()
    answer = answer_readings(form.asked, number=number) if form.asked else None
    slips = [(form[name], errors) for name, errors in form.errors.items()]
    return {"form": form, "answer": answer, "slips": slips}


def _status(form: ReadingTableForm) -> int:
    return 422 if form.errors else 200


def _answer_alone(request: HttpRequest, context: dict[str, Any]) -> HttpResponse:
    return render(request, "desk/reading_answer.html", context)


def _told(nominal: NominalOpening | None, units: UnitSystem) -> dict[str, str]:
    """What the schedule tells of an opening, as one would type it; nothing where it doesn't tell its size."""
    if nominal is None:
        return {}
    told = {
        "width": _exact(nominal.width, units),
        "height": _exact(nominal.height, units),
        "leaves": str(nominal.leaves),
        "hand": nominal.hand or "",
        "rating_minutes": "" if nominal.rating_minutes is None else str(nominal.rating_minutes),
        "covering": _exact(nominal.covering, units) if nominal.covering else "",
        "foot_on": nominal.foot_on.value,
    }
    return {name: text for name, text in told.items() if text}


def _exact(length: Length, units: UnitSystem) -> str:
    """A length that reads back as itself: on a tape's fractions where it stands on one, else in millimetres."""
    if units == "imperial" and length.nm % (NM_PER_INCH // 64) == 0:
        return format_length(length, units=units, denominator=64, feet=length.nm >= 12 * NM_PER_INCH)
    return f"{Decimal(length.nm) / NM_PER_MM} mm"
