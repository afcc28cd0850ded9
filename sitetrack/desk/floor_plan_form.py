"""What is typed to put a floor's plan to scale, and to say where openings stand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from openings.models import FloorPlan, Opening, Site
from openings.services.floor_plans import Scale
from sitetrack.kit.lengths import LONGEST_TEXT, Length, LengthError, Unit, format_length, from_mm, parse_length
from sitetrack.kit.problems import Problem

# Over such distances a bare number means feet or metres, not inches or millimetres.
BARE: Mapping[str, Unit] = {Site.Units.IMPERIAL: "ft", Site.Units.METRIC: "m"}
LONGEST_LENGTH = 1000.0  # metres: beyond it lengths are neither written nor read as such


class ScaleForm(forms.Form):
    """Two points in pixels and how far apart they are; what is left empty of the rest is not told."""

    first_x = forms.FloatField(label=gettext_lazy("First point, from the left"))
    first_y = forms.FloatField(label=gettext_lazy("First point, from the top"))
    second_x = forms.FloatField(label=gettext_lazy("Second point, from the left"))
    second_y = forms.FloatField(label=gettext_lazy("Second point, from the top"))
    distance = forms.CharField(label=gettext_lazy("Distance between them"), max_length=LONGEST_TEXT)
    opening = forms.CharField(
        label=gettext_lazy("Opening at the first point, if its position is known"), max_length=40, required=False
    )
    with_openings = forms.BooleanField(
        label=gettext_lazy("Move the openings already placed along with the picture"), required=False
    )

    def __init__(self, data: Any, *, plan: FloorPlan) -> None:
        self.plan = plan
        super().__init__(data, initial=_standing(plan), label_suffix="")
        for name in ("first_x", "first_y", "second_x", "second_y"):
            most = plan.width if name.endswith("x") else plan.height
            self.fields[name].widget = forms.NumberInput(attrs={"min": 0, "max": most, "step": "any"})
        for name in ("distance", "opening"):
            self.fields[name].widget.attrs["autocomplete"] = "off"

    def clean_distance(self) -> Length:
        """The distance; feet or metres where no unit is written."""
        try:
            return parse_length(self.cleaned_data["distance"], unit=BARE[self.plan.site.units])
        except LengthError as error:
            raise ValidationError(_length_refused(error, self.plan.site)) from None

    def clean_opening(self) -> Opening | None:
        """The opening of this number on this floor."""
        number = self.cleaned_data["opening"].strip()
        if not number:
            return None
        found = Opening.objects.filter(floor=self.plan.floor, number__iexact=number).first()
        if found is None:
            raise ValidationError(_("No opening of this floor is called %(number)s.") % {"number": number})
        return found

    def scale(self) -> Scale:
        """What was typed, for the service."""
        told = self.cleaned_data
        return Scale(
            first=(told["first_x"], told["first_y"]),
            second=(told["second_x"], told["second_y"]),
            distance=told["distance"],
            opening=told["opening"],
            with_openings=told["with_openings"],
        )

    def refuse(self, problem: Problem) -> None:
        """Say a refusal beside the field it names, or above the form."""
        named = problem.errors[0].field if problem.errors else None
        beside = {"first": "first_x", "second": "second_x"}.get(named or "", named)
        self.add_error(beside if beside in self.fields else None, problem.detail)


def _standing(plan: FloorPlan) -> dict[str, Any]:
    """How the plan stands to scale; a new one is offered its whole width, which is often known."""
    points = {
        "first_x": 0 if plan.first_x is None else round(plan.first_x, 1),
        "first_y": round(plan.height / 2 if plan.first_y is None else plan.first_y, 1),
        "second_x": plan.width if plan.second_x is None else round(plan.second_x, 1),
        "second_y": round(plan.height / 2 if plan.second_y is None else plan.second_y, 1),
    }
    distance = "" if plan.distance is None else shown_metres(float(plan.distance.mm) / 1000, plan.site)
    return {**points, "distance": distance}


def shown_metres(metres: float | None, site: Site) -> str:
    """A place along the plan as it is shown and typed: 41'-0 1/2" or 12.51 m; empty where it is not known."""
    if metres is None:
        return ""
    if site.units == Site.Units.METRIC or abs(metres) >= LONGEST_LENGTH:
        return f"{metres:.2f} m"
    return format_length(from_mm(metres * 1000), units="imperial", denominator=2, feet=True)


@dataclass(frozen=True, slots=True)
class PositionRow:
    """An opening's line in the table of positions: as shown, or as typed with what is wrong about it."""

    id: UUID
    number: str
    room: str
    version: int
    x: str
    y: str
    error: str = ""


@dataclass(slots=True)
class TypedPositions:
    """Positions as sent: what is to be set by id, with the versions they were read at, and the lines that are wrong."""

    spots: dict[UUID, tuple[float, float] | None] = field(default_factory=dict)
    versions: dict[UUID, int] = field(default_factory=dict)
    rows: list[PositionRow] = field(default_factory=list)
    wrong: int = 0


def position_row(opening: Opening, site: Site) -> PositionRow:
    """An opening's line as it stands."""
    room = " → ".join(room for room in (opening.room_from, opening.room_to) if room)
    x, y = shown_metres(opening.x, site), shown_metres(opening.y, site)
    return PositionRow(opening.pk, opening.number, room, opening.version, x, y)


def typed_positions(data: Mapping[str, Any], openings: Sequence[Opening], site: Site) -> TypedPositions:
    """Read `x-<id>`, `y-<id>` and `v-<id>` of a form, or `m-<id>` in metres as the script sends it.

    What is left as it was shown is not changed: shown is rounded, and must not become the truth.
    """
    typed = TypedPositions()
    for opening in openings:
        row = position_row(opening, site)
        exact = data.get(f"m-{opening.pk}")
        x, y = (str(data.get(f"{axis}-{opening.pk}", getattr(row, axis))).strip()[:60] for axis in ("x", "y"))
        version = data.get(f"v-{opening.pk}", "")
        error, changed = "", exact is not None or (x, y) != (row.x, row.y)
        if changed:
            try:
                spot = _exact(str(exact)) if exact is not None else _spot(x, y, site)
                if spot is not None and exact is None:
                    spot = (
                        opening.x if x == row.x and opening.x is not None else spot[0],
                        opening.y if y == row.y and opening.y is not None else spot[1],
                    )
            except ValidationError as refusal:
                error = refusal.messages[0]
                typed.wrong += 1
            else:
                typed.spots[opening.pk] = spot
                typed.versions[opening.pk] = int(version) if str(version).isdecimal() else -1
        typed.rows.append(PositionRow(row.id, row.number, row.room, opening.version, x, y, error))
    return typed


def _exact(text: str) -> tuple[float, float] | None:
    """Two numbers of metres with a blank between; nothing takes an opening off."""
    if not text.strip():
        return None
    try:
        x, y = (float(part) for part in text.split())
    except ValueError:
        raise ValidationError(_("A position is two numbers of meters.")) from None
    return x, y


def _spot(x: str, y: str, site: Site) -> tuple[float, float] | None:
    if not x and not y:
        return None
    if not x or not y:
        raise ValidationError(_("Give both distances, or neither to take the opening off the plan."))
    try:
        across, up = (parse_length(text, unit=BARE[site.units]) for text in (x, y))
    except LengthError as error:
        raise ValidationError(_length_refused(error, site)) from None
    return float(across.mm) / 1000, float(up.mm) / 1000


def _length_refused(error: LengthError, site: Site) -> str:
    example = "12.5 m" if site.units == Site.Units.METRIC else "41'-6\""
    return _("“%(read)s” can't be read as a distance. Write it as %(example)s.") % {
        "read": error.read,
        "example": example,
    }
