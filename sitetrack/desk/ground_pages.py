"""Sheet F-11: buildings and floors of the site."""

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from openings.models import Building, Floor
from openings.selectors.ground import buildings_with_floors
from openings.services.ground import put_building, put_floor, remove_building, remove_floor
from sitetrack.desk.form_undo import undo_by_form
from sitetrack.desk.setup import PLACES, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import Undo, refused, told
from sitetrack.kit.problems import Problem


class BuildingForm(forms.Form):
    """One building."""

    code = forms.CharField(label=gettext_lazy("Code"), max_length=20)
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, required=False)


class FloorForm(BuildingForm):
    """One floor."""

    level = forms.IntegerField(label=gettext_lazy("Level, lowest first"), min_value=-99, max_value=999)
    due_on = forms.DateField(
        label=gettext_lazy("Frames proved by"),
        required=False,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )


@require_safe
@site_page
def places(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every building with its floors, lowest first, and how many openings each has."""
    return _page(request, desk)


@require_POST
@site_page
def building(request: HttpRequest, desk: Desk, building_id: UUID | None = None) -> HttpResponse:
    """Add a building or change one."""
    row = _building(desk, building_id) if building_id else None
    form = BuildingForm(request.POST, prefix=_prefix("building", building_id), label_suffix="")
    before = _facts(form, row)
    if form.is_valid():
        try:
            made = put_building(site=desk.site, building=row, facts=form.cleaned_data, who=desk.person, now=desk.now)
        except Problem as problem:
            return _refused(request, desk, form, problem)
        return _kept(request, desk, undo_by_form(request.path, form, before) if row else _unadd(desk, "building", made))
    return _page(request, desk, form=form, status=422)


@require_POST
@site_page
def floor(request: HttpRequest, desk: Desk, building_id: UUID, floor_id: UUID | None = None) -> HttpResponse:
    """Add a floor to a building or change one."""
    house = _building(desk, building_id)
    row = get_object_or_404(_floors(desk), pk=floor_id, building=house) if floor_id else None
    form = FloorForm(request.POST, prefix=_prefix("floor", floor_id or building_id), label_suffix="")
    before = _facts(form, row)
    if form.is_valid():
        try:
            made = put_floor(building=house, floor=row, facts=form.cleaned_data, who=desk.person, now=desk.now)
        except Problem as problem:
            return _refused(request, desk, form, problem)
        return _kept(request, desk, undo_by_form(request.path, form, before) if row else _unadd(desk, "floor", made))
    return _page(request, desk, form=form, status=422)


@require_POST
@site_page
def remove(request: HttpRequest, desk: Desk, kind: str, row_id: UUID) -> HttpResponse:
    """Remove a floor without openings or a building without floors."""
    try:
        if kind == "floor":
            floor_row = get_object_or_404(_floors(desk), pk=row_id)
            undo = _add_again(desk, "floor-new", FloorForm, floor_row, floor_row.building_id)
            remove_floor(floor=floor_row, who=desk.person, now=desk.now)
        else:
            house = _building(desk, row_id)
            undo = _add_again(desk, "building-new", BuildingForm, house)
            remove_building(building=house, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
    else:
        told(request, _("Removed."), undo=undo)
    return redirect("setup:places", code=desk.site.code)


def _facts(form: forms.Form, row: Any) -> dict[str, Any]:
    return {name: getattr(row, name) for name in form.fields} if row else {}


def _unadd(desk: Desk, kind: str, made: Any) -> Undo:
    return Undo(reverse("setup:place-remove", args=[desk.site.code, kind, made.pk]))


def _add_again(desk: Desk, route: str, kind: type[forms.Form], row: Any, inside: UUID | None = None) -> Undo:
    """What was removed was empty: the same added anew is all of it."""
    form = kind(prefix=_prefix(route.removesuffix("-new"), inside))
    address = reverse(f"setup:{route}", args=[desk.site.code, *([inside] if inside else [])])
    return undo_by_form(address, form, _facts(form, row))


def _building(desk: Desk, key: UUID) -> Building:
    rows = Building.objects.visible_to(desk.person).filter(site=desk.site).select_related("site")
    found: Building = get_object_or_404(rows, pk=key)
    return found


def _floors(desk: Desk) -> Any:
    return Floor.objects.visible_to(desk.person).filter(site=desk.site).select_related("site", "building")


def _prefix(kind: str, key: UUID | None) -> str:
    return f"{kind}-{key}" if key else kind


def _kept(request: HttpRequest, desk: Desk, undo: Undo) -> HttpResponse:
    told(request, _("Kept. Phones learn of it when they next have a signal."), undo=undo)
    return redirect("setup:places", code=desk.site.code)


def _refused(request: HttpRequest, desk: Desk, form: forms.Form, problem: Problem) -> HttpResponse:
    named = next((error.field for error in problem.errors if error.field in form.fields), None)
    form.add_error(named, problem.detail)
    return _page(request, desk, form=form, status=problem.status)


def _page(request: HttpRequest, desk: Desk, *, form: forms.Form | None = None, status: int = 200) -> HttpResponse:
    def shown(made: Any, prefix: str, row: Any) -> forms.Form:
        initial = {name: getattr(row, name) for name in made.base_fields} if row else {}
        given = form if form is not None and form.prefix == prefix else None
        return given or made(prefix=prefix, initial=initial, label_suffix="")

    houses = [
        {
            "row": house,
            "form": shown(BuildingForm, _prefix("building", house.pk), house),
            "new_floor": shown(FloorForm, _prefix("floor", house.pk), None),
            "floors": [(each, shown(FloorForm, _prefix("floor", each.pk), each)) for each in floors],
        }
        for house, floors in buildings_with_floors(desk.site, desk.person)
    ]
    context = {
        "houses": houses,
        "new_building": shown(BuildingForm, "building", None),
        "manages": is_supervisor(desk),
        "failed": form,
    }
    return draw(request, desk, PLACES, "desk/places.html", context, status=status)
