"""The doors of a building model, as plain values.

What the standard says of each: Industry Foundation Classes, entity IfcDoor and IfcDoorStyle / IfcDoorType (operation
types, overall sizes), IfcRelFillsElement (the wall), IfcRelContainedInSpatialStructure (the storey),
IfcRelSpaceBoundary (the rooms).
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import ifcopenshell
from django.utils.translation import gettext
from ifcopenshell.util.element import get_aggregate, get_container, get_material, get_parent, get_psets, get_type
from ifcopenshell.util.placement import get_local_placement
from ifcopenshell.util.unit import calculate_unit_scale

from openings.intake.refusals import FileRefused
from openings.intake.walls import wall_of_layers
from openings.selectors.facts import WallTold
from sitetrack.kit.lengths import Length

NM_PER_METRE = 1_000_000_000
DEEPEST_CLIMB = 20
NUMBER_PROPERTY = re.compile(r"mark|(?:door|opening|raum)?[ _-]?(?:number|no\.?|nr\.?|nummer)", re.IGNORECASE)
RATING_PROPERTY = ("FireRating", "Fire Rating", "Fire_Rating")
Properties = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class ModelDoor:
    """One IfcDoor; texts are as written, empty where the model does not tell."""

    step_id: int
    key: str
    name: str
    tag: str
    type_name: str
    operation: str
    predefined: str
    width: Length | None
    height: Length | None
    rating: str | None
    storey: str
    elevation: Length | None
    building: str
    wall: WallTold | None
    rooms: tuple[str, ...]
    x: float | None
    y: float | None
    inside: str
    numbers: Mapping[str, str] = field(default_factory=dict)


def model_doors(model: ifcopenshell.file) -> Iterator[ModelDoor]:
    """Yield every door of the model, in the order of its text; raises FileRefused where one points to nothing."""
    reader = _DoorReader(model)
    for door in sorted(model.by_type("IfcDoor"), key=lambda door: door.id()):
        try:
            found = reader.read(door)
        except (AttributeError, TypeError, ValueError, RuntimeError, LookupError) as broken:
            raise FileRefused(
                gettext(
                    "The model is damaged: door #%(id)d points to something that is missing or of the wrong kind. "
                    "Export it again."
                )
                % {"id": door.id()}
            ) from broken
        yield found


class _DoorReader:
    def __init__(self, model: ifcopenshell.file) -> None:
        self._scale = float(calculate_unit_scale(model))
        self._rooms = _rooms_by_door(model)
        self._type_properties: dict[int, Properties] = {}
        self._walls: dict[int, WallTold | None] = {}

    def read(self, door: Any) -> ModelDoor:
        """Everything of one door that a schedule can use."""
        style = get_type(door)
        own = get_psets(door, should_inherit=False)
        host = _host(door)
        storey = _storey(door, host)
        return ModelDoor(
            step_id=door.id(),
            key=door.GlobalId,
            name=_text(door.Name),
            tag=_text(door.Tag),
            type_name=_text(style.Name if style else "") or _text(door.ObjectType),
            operation=_operation(door, style),
            predefined=_enum(door, "PredefinedType") or _enum(style, "PredefinedType"),
            width=self._length(door.OverallWidth),
            height=self._length(door.OverallHeight),
            rating=_rating(own, self._properties_of(style)),
            storey=_text(storey.Name or storey.LongName) if storey else "",
            elevation=self._length(storey.Elevation, zero=True) if storey else None,
            building=_building(storey),
            wall=self._wall(host),
            rooms=tuple(sorted(self._rooms.get(door.id(), ()))),
            **self._place(door),
            inside=_inside(door, host),
            numbers=_numbers(own),
        )

    def _length(self, value: float | None, *, zero: bool = False) -> Length | None:
        if value is None or (value <= 0 and not zero) or abs(value * self._scale) > 10_000:
            return None
        # Exporters write 0.761999999999999; a nanometre is far below what anyone builds to.
        return Length(round(value * self._scale * NM_PER_METRE))

    def _place(self, door: Any) -> dict[str, float | None]:
        if door.ObjectPlacement is None:
            return {"x": None, "y": None}
        matrix = get_local_placement(door.ObjectPlacement)
        x, y = (round(float(matrix[axis][3]) * self._scale, 3) for axis in (0, 1))
        return {"x": x, "y": y} if abs(x) < 1e7 and abs(y) < 1e7 else {"x": None, "y": None}

    def _properties_of(self, style: Any) -> Properties:
        if style is None:
            return {}
        if style.id() not in self._type_properties:
            self._type_properties[style.id()] = get_psets(style)
        return self._type_properties[style.id()]

    def _wall(self, host: Any) -> WallTold | None:
        if host is None:
            return None
        if host.id() not in self._walls:
            style, material = get_type(host), get_material(host)
            layers = _layers(material)
            name = _text(style.Name if style else "") or _text(getattr(layers, "LayerSetName", "")) or _text(host.Name)
            thick = [
                (_text(layer.Material.Name if layer.Material else ""), self._length(layer.LayerThickness))
                for layer in (layers.MaterialLayers if layers else ())
            ]
            known = [(material_name, length) for material_name, length in thick if length is not None]
            self._walls[host.id()] = wall_of_layers(_short_name(name), known)
        return self._walls[host.id()]


def _text(value: object) -> str:
    return " ".join(str(value).split()) if value else ""


def _short_name(name: str) -> str:
    """`Basic Wall:Partition:139682` is the wall type `Partition`: the family in front and the element number go."""
    parts = [part for part in name.split(":") if part.strip() and not part.strip().isdigit()]
    return parts[-1].strip() if parts else ""


def _enum(element: Any, attribute: str) -> str:
    return _text(getattr(element, attribute, "") if element is not None else "").upper()


def _operation(door: Any, style: Any) -> str:
    """The occurrence's operation where it tells one, else the type's; IFC2X3 has it on the style only."""
    for element in (door, style):
        operation = _enum(element, "OperationType")
        if operation not in ("", "NOTDEFINED"):
            return operation
    return ""


def _rating(own: Properties, inherited: Properties) -> str | None:
    """FireRating as written, the door's own before its type's; None where no such property exists."""
    for sets in (own, inherited):
        ordered = sorted(sets.items(), key=lambda item: item[0] != "Pset_DoorCommon")
        for _, properties in ordered:
            for name in RATING_PROPERTY:
                if properties.get(name) not in (None, ""):
                    return _text(properties[name])
    return None


def _numbers(own: Properties) -> dict[str, str]:
    """Properties of the door itself that could hold its number on site."""
    found: dict[str, str] = {}
    for _, properties in sorted(own.items()):
        for name, value in properties.items():
            if NUMBER_PROPERTY.fullmatch(name) and isinstance(value, str | int) and _text(value):
                found.setdefault(name, _text(value))
    return found


def _host(door: Any) -> Any:
    """The wall whose opening the door fills, or None."""
    for fills in door.FillsVoids or ():
        for voids in fills.RelatingOpeningElement.VoidsElements or ():
            return voids.RelatingBuildingElement
    return None


def _storey(door: Any, host: Any) -> Any:
    return get_container(door, ifc_class="IfcBuildingStorey") or (
        get_container(host, ifc_class="IfcBuildingStorey") if host is not None else None
    )


def _building(storey: Any) -> str:
    place = storey
    for _ in range(DEEPEST_CLIMB):
        if place is None:
            return ""
        if place.is_a("IfcBuilding"):
            name = _text(place.Name)
            # `// BUILDING/NAME //` is an exporter's empty form, not a name.
            return "" if re.fullmatch(r"[\W_]*|//.*//", name) else name[:120]
        place = get_aggregate(place)
    return ""


def _inside(door: Any, host: Any) -> str:
    """What larger thing the door is a part of: a curtain wall, or another door; empty where it stands alone."""
    if host is not None and host.is_a("IfcCurtainWall"):
        return "IfcCurtainWall"
    part = get_parent(door)
    for _ in range(DEEPEST_CLIMB):
        if part is None:
            return ""
        if part.is_a("IfcCurtainWall") or part.is_a("IfcDoor"):
            return "IfcCurtainWall" if part.is_a("IfcCurtainWall") else "IfcDoor"
        part = get_parent(part)
    return ""


def _layers(material: Any) -> Any:
    if material is None:
        return None
    if material.is_a("IfcMaterialLayerSetUsage"):
        return material.ForLayerSet
    return material if material.is_a("IfcMaterialLayerSet") else None


def _rooms_by_door(model: ifcopenshell.file) -> dict[int, set[str]]:
    rooms: dict[int, set[str]] = defaultdict(set)
    for bound in model.by_type("IfcRelSpaceBoundary"):
        element, space = bound.RelatedBuildingElement, bound.RelatingSpace
        if element is not None and element.is_a("IfcDoor") and space is not None and space.is_a("IfcSpace"):
            rooms[element.id()].add(f"{_text(space.Name)} {_text(space.LongName)}".strip()[:80])
    return rooms
