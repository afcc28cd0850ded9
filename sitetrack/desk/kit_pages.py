"""Sheet F-8: the kit list, what to have on the cart for a floor, for openings picked there, or by number."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.selectors.floors import floor_names
from inspections.selectors.kits import MOST_IN_KIT, Selection, select_listed, select_openings
from inspections.services.profiles import profile_in_force
from inspections.services.takeoffs import Kit, kit_of
from inspections.trueness.kit import AnchorKind
from openings.models import Opening
from openings.selectors.lists import visible_list
from sitetrack.desk.sheets import KIT, Desk, draw, site_page
from sitetrack.desk.words import word
from sitetrack.kit.ids import read_id
from sitetrack.kit.lengths import UnitSystem, format_length
from sitetrack.reports.cells import clean, disarmed

LONGEST_NUMBERS = 20_000
BETWEEN_NUMBERS = re.compile(r"[,;\s]+")


@dataclass(frozen=True, slots=True)
class Cart:
    """A kit list with the openings it is for."""

    selection: Selection
    openings: Sequence[Opening]
    kit: Kit
    units: UnitSystem


@require_safe
@site_page
def kit(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list for what was asked for; with nothing asked, the floors to choose from."""
    cart = _cart(request, desk)
    context: dict[str, Any] = {
        "floors": floor_names(desk.site, desk.person),
        "cart": cart,
        "anchors": by_place(cart.kit.list.anchors) if cart else [],
        "numbers": request.GET.get("numbers", "")[:LONGEST_NUMBERS],
        "floor_asked": read_id(request.GET.get("floor", "")),
        "most": MOST_IN_KIT,
    }
    return draw(request, desk, KIT, "desk/kit.html", context)


@require_safe
@site_page
def kit_csv(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The same list as CSV (RFC 4180), a row a thing."""
    cart = _cart(request, desk)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{desk.site.code}-kit.csv"'
    response.write("\ufeff")
    writer = csv.writer(response, lineterminator="\r\n")
    writer.writerow([_("what"), _("kind"), _("size"), _("count")])
    for row in _rows(cart) if cart else ():
        writer.writerow([disarmed(clean(cell)) for cell in row])
    return response


def _cart(request: HttpRequest, desk: Desk) -> Cart | None:
    """The openings asked for and what they need; None where none were asked for."""
    floor = read_id(request.GET.get("floor", ""))
    typed = request.GET.get("numbers", "")[:LONGEST_NUMBERS]
    numbers = [number for number in BETWEEN_NUMBERS.split(typed) if number]
    listed_id = read_id(request.GET.get("list", ""))
    listed = visible_list(desk.site, desk.person, listed_id) if listed_id else None
    if listed is not None:
        selection = select_listed(listed, desk.person)
    elif floor is not None or numbers:
        selection = select_openings(desk.site, desk.person, floor=floor, numbers=numbers)
    else:
        return None
    _version, profile = profile_in_force(desk.site)
    openings = selection.openings
    return Cart(selection, openings, kit_of(openings, profile), profile.units)


def by_place(anchors: dict[AnchorKind, int]) -> list[tuple[AnchorKind, int]]:
    """Anchors wall by wall, place by place, the shallowest jamb first."""
    return sorted(
        anchors.items(),
        key=lambda each: (each[0].wall, each[0].place, each[0].jamb_depth.nm if each[0].jamb_depth else 0),
    )


def _rows(cart: Cart) -> list[tuple[str, str, str, str]]:
    units, listed = cart.units, cart.kit.list
    counted = set(listed.frames)
    rows = [
        (_("frame"), f"{each.number} {each.mark}".strip(), _size(each, units), "1")
        for each in cart.openings
        if each.number in counted
    ]
    for kind, count in by_place(listed.anchors):
        depth = "" if kind.jamb_depth is None else format_length(kind.jamb_depth, units=units)
        rows.append((word("anchor_place", kind.place), word("wall_kind", kind.wall), depth, str(count)))
    rows += [(_("spreader"), "", format_length(cut, units=units), str(n)) for cut, n in listed.spreaders.items()]
    rows.append((_("screws, at least"), "", "", str(listed.screws)))
    rows += [(_("not counted"), number, word("left_out", why), "") for number, why in cart.kit.left_out]
    return rows


def _size(opening: Opening, units: UnitSystem) -> str:
    sides = [side for side in (opening.width, opening.height) if side is not None]
    return " × ".join(format_length(side, units=units, feet=units == "imperial") for side in sides)
