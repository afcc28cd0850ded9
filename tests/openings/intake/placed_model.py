"""Small IFC4 models whose doors stand somewhere, written with ifcopenshell alone."""

from typing import Any

import ifcopenshell
import ifcopenshell.guid

Triple = tuple[float, float, float]
UNITS = {
    "m": {"Name": "METRE"},
    "mm": {"Prefix": "MILLI", "Name": "METRE"},
}
FOOT = 0.3048  # metres, exact


class PlacedModel:
    """A model with one storey; lengths are in `unit`: m, mm or ft."""

    def __init__(self, unit: str = "m") -> None:
        self.file = ifcopenshell.file(schema="IFC4")
        units = self.file.create_entity("IfcUnitAssignment", Units=[self._length_unit(unit)])
        self.entity("IfcProject", Name="Job", UnitsInContext=units)
        self.storey = self.entity("IfcBuildingStorey", Name="Level 1", Elevation=0.0)

    def entity(self, kind: str, **attributes: Any) -> Any:
        return self.file.create_entity(kind, GlobalId=ifcopenshell.guid.new(), **attributes)

    def placement(
        self,
        *,
        location: Triple = (0.0, 0.0, 0.0),
        x_axis: Triple | None = None,
        z_axis: Triple | None = None,
        within: Any = None,
    ) -> Any:
        """An IfcLocalPlacement, within another where one is given; axes left out are the parent's own."""
        axes = {
            name: self.file.create_entity("IfcDirection", DirectionRatios=ratios)
            for name, ratios in (("RefDirection", x_axis), ("Axis", z_axis))
            if ratios is not None
        }
        origin = self.file.create_entity("IfcCartesianPoint", Coordinates=location)
        relative = self.file.create_entity("IfcAxis2Placement3D", Location=origin, **axes)
        return self.file.create_entity("IfcLocalPlacement", PlacementRelTo=within, RelativePlacement=relative)

    def door(self, tag: str, *, at: Any = None, width: float = 0.915, height: float = 2.134) -> Any:
        door = self.entity("IfcDoor", Tag=tag, OverallWidth=width, OverallHeight=height, ObjectPlacement=at)
        self.entity("IfcRelContainedInSpatialStructure", RelatedElements=[door], RelatingStructure=self.storey)
        return door

    def _length_unit(self, unit: str) -> Any:
        if unit in UNITS:
            return self.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", **UNITS[unit])
        metre = self.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
        value = self.file.create_entity("IfcLengthMeasure", FOOT)
        factor = self.file.create_entity("IfcMeasureWithUnit", ValueComponent=value, UnitComponent=metre)
        dimensions = self.file.create_entity("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0)
        return self.file.create_entity(
            "IfcConversionBasedUnit", Dimensions=dimensions, UnitType="LENGTHUNIT", Name="FOOT", ConversionFactor=factor
        )
