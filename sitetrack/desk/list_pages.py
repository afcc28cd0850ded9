"""Openings picked on a floor: kept as a list, and shown in walking order with all that is made for them."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST, require_safe

from inspections.selectors.floors import FloorOpening, floor_openings, floor_rows, openings_of_floor, with_alerts
from inspections.selectors.stages import site_stages
from openings.models import Floor, OpeningList
from openings.selectors.comparison import with_numbers
from openings.selectors.lists import listed_openings, place_in_list, visible_list
from openings.services.lists import MOST_LISTED, make_list
from sitetrack.desk.floor_filters import narrowed_floor
from sitetrack.desk.floor_pages import look
from sitetrack.desk.sheets import Desk, Sheet, draw, site_page
from sitetrack.desk.told import go_back, refused
from sitetrack.kit.problems import Problem

PICKED = Sheet("F-2", _("Openings picked"))


@require_POST
@site_page
def pick(request: HttpRequest, desk: Desk, floor_id: UUID) -> HttpResponse:
    """Make a list of the openings picked, or of all that the filters in the address leave, and go to it."""
    here: Floor = get_object_or_404(Floor.objects.visible_to(desk.person).filter(site=desk.site), pk=floor_id)
    openings: QuerySet[Any] = openings_of_floor(here, desk.person)
    if request.POST.get("all"):
        openings = narrowed_floor(request.GET, site_stages(desk.site, desk.person), openings).qs
    else:
        openings = with_numbers(openings, request.POST.getlist("o")[:MOST_LISTED])
    try:
        picked = list(openings.order_by().values_list("pk", flat=True)[: MOST_LISTED + 1])
        made = make_list(site=desk.site, picked=picked, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return go_back(request, f"{reverse('desk:floor', args=[desk.site.code, here.pk])}?{request.GET.urlencode()}")
    return redirect("desk:list", code=desk.site.code, list_id=made.pk)


@require_safe
@site_page
def walk(request: HttpRequest, desk: Desk, list_id: UUID) -> HttpResponse:
    """The list in walking order, with the ways to its kit, labels and work order, and the code that a phone reads."""
    listed = list_or_404(desk, list_id)
    openings = listed_rows(listed, desk)
    context = {
        "listed": listed,
        "stages": site_stages(desk.site, desk.person),
        "openings": [(opening, look(opening)) for opening in openings],
        "floors": floors_of(listed, desk),
        "address": f"{settings.PUBLIC_URL}{request.path}",
    }
    return draw(request, desk, PICKED, "desk/list.html", context)


def list_or_404(desk: Desk, list_id: UUID) -> OpeningList:
    """The list of this id on the desk's site."""
    listed = visible_list(desk.site, desk.person, list_id)
    if listed is None:
        raise Http404
    return listed


def listed_rows(listed: OpeningList, desk: Desk) -> list[FloorOpening]:
    """The openings of a list in its order, as a floor's list has them."""
    place = place_in_list(listed)
    rows = sorted(floor_rows(with_alerts(listed_openings(listed, desk.person))), key=lambda row: place[row["pk"]])
    return floor_openings(rows)


def floors_of(listed: OpeningList, desk: Desk) -> list[Floor]:
    """The floors that a list's openings stand on."""
    standing = listed_openings(listed, desk.person).order_by().values("floor")
    return list(Floor.objects.visible_to(desk.person).filter(pk__in=standing).select_related("building"))
