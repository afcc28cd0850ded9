"""The takeoff of one opening: what its frame needs, worked out from the schedule before anything is read."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.selectors.nominal import nominal_opening
from inspections.selectors.opening_record import find_opening
from inspections.services.profiles import profile_in_force
from inspections.services.takeoffs import takeoff_of
from inspections.standards.cautions import CAUTIONS, Topic
from inspections.standards.weights import SHEET_THICKNESS
from inspections.trueness.takeoff import FRAME_GAUGE, LEAF_GAUGE, Takeoff
from inspections.trueness.weights import Weight
from sitetrack.desk.sheets import TAKEOFF, Desk, draw, site_page
from sitetrack.desk.words import spoken
from sitetrack.kit.lengths import UnitSystem


@dataclass(frozen=True, slots=True)
class WeightRow:
    """A weight of the steel alone, for the gauge it is worked out for; `besides` is what comes on top of it."""

    name: str
    text: str
    gauge: int
    thickness: str
    besides: str
    two_people: bool


@require_safe
@site_page
def takeoff(request: HttpRequest, desk: Desk, number: str) -> HttpResponse:
    """The sheet, with what the schedule does not tell named as such."""
    here = find_opening(desk.site, desk.person, number)
    if here is None:
        raise Http404("No opening of that number on this site.")
    _version, profile = profile_in_force(desk.site)
    taken = takeoff_of(here, profile)
    topics = [Topic.LIFTING, Topic.BRACING, *([] if here.rating_minutes == 0 else [Topic.RATED])]
    context: dict[str, Any] = {
        "opening": here,
        "nominal": nominal_opening(here),
        "taken": taken,
        "units": profile.units,
        "weights": [],
        "cautions": [spoken({"en": CAUTIONS[topic].en, "es": CAUTIONS[topic].es}) for topic in topics],
    }
    if taken is not None:
        context["weights"] = list(_weights(taken, profile.units))
    return draw(request, desk, TAKEOFF, "desk/takeoff.html", context)


def _weights(taken: Takeoff, units: UnitSystem) -> Iterator[WeightRow]:
    besides = _("core, edges and glass come on top")
    yield _weight(_("leaf, both skins"), taken.leaf_weight, LEAF_GAUGE, besides, units)
    if taken.frame_weight is not None:
        yield _weight(_("frame"), taken.frame_weight, FRAME_GAUGE, _("reinforcement and anchors come on top"), units)


def _weight(name: str, weight: Weight, gauge: int, besides: str, units: UnitSystem) -> WeightRow:
    metric = units == "metric"
    text = f"{weight.kilograms:.0f} kg" if metric else f"{weight.pounds:.0f} lb"
    thickness = SHEET_THICKNESS[gauge].length
    told = f"{float(thickness.mm):.2g} mm" if metric else f"{float(thickness.inches):.3f} in"
    return WeightRow(name, text, gauge, told, besides, weight.two_people)
