"""Doors of a model that are no single frame, and doors that look odd but are: models written here, entity by entity."""

from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.guid
import pytest

from openings.intake.readings import NotOurs, Reading
from openings.intake.refusals import FileRefused, RowRefused
from openings.intake.settled import Settled
from openings.intake.sources import opened_source
from openings.selectors.facts import ListedOpening


class Model:
    """A small IFC4 model with one storey; units are metres unless another factor is given."""

    def __init__(self, schema: str = "IFC4") -> None:
        self.file = ifcopenshell.file(schema=schema)
        unit = self.file.create_entity("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
        units = self.file.create_entity("IfcUnitAssignment", Units=[unit])
        self.project = self.entity("IfcProject", Name="Job", UnitsInContext=units)
        self.storey = self.entity("IfcBuildingStorey", Name="Level 1", Elevation=0.0)

    def entity(self, kind: str, **attributes: Any) -> Any:
        return self.file.create_entity(kind, GlobalId=ifcopenshell.guid.new(), **attributes)

    def door(self, tag: str, *, width: float = 0.915, height: float = 2.134, operation: str = "SINGLE_SWING_LEFT",
             contained: bool = True, **attributes: Any) -> Any:  # fmt: skip
        door = self.entity("IfcDoor", Tag=tag, OverallWidth=width, OverallHeight=height, OperationType=operation,
                           **attributes)  # fmt: skip
        if contained:
            self.entity("IfcRelContainedInSpatialStructure", RelatedElements=[door], RelatingStructure=self.storey)
        return door

    def part_of(self, whole: Any, part: Any) -> None:
        self.entity("IfcRelAggregates", RelatingObject=whole, RelatedObjects=[part])

    def read(self, folder: Path, **settled: Any) -> dict[str, Reading]:
        path = folder / "model.ifc"
        self.file.write(str(path))
        with opened_source(path, path.name) as source:
            rows = list(source.readings(Settled(**{"number_source": "Tag", **settled})))
        return {row.opening.number if isinstance(row, NotOurs) else row.number: row for row in rows}


@pytest.mark.parametrize(
    "operation", ["SLIDING_TO_LEFT", "FOLDING_TO_RIGHT", "REVOLVING", "ROLLINGUP", "DOUBLE_DOOR_SLIDING"]
)
def test_what_does_not_swing_is_proposed_as_not_ours(tmp_path: Path, operation: str) -> None:
    model = Model()
    model.door("1", operation=operation)
    row = model.read(tmp_path)["1"]
    assert isinstance(row, NotOurs)
    assert "operation" in row.reason


@pytest.mark.parametrize(
    ("attributes", "reason"),
    [
        ({"ObjectType": "M_Toilet Partition:0813"}, "partition"),
        ({"Name": "Garage door"}, "rolling or overhead"),
        ({"ObjectType": "Curtain Wall Dbl Glass"}, "glazing"),
        ({"ObjectType": "Door-Opening"}, "bare opening"),
        ({"Name": "Дверь_Проем"}, "bare opening"),
        ({"Name": "≡Дверь_Заполнение"}, "leaf without a frame"),
        ({"width": 0.6, "height": 0.6}, "too low"),
        ({"PredefinedType": "TRAPDOOR"}, "trapdoor"),
        ({"PredefinedType": "GATE"}, "gate"),
    ],
)
def test_what_is_no_frame_by_name_kind_or_size_is_proposed_as_not_ours(
    tmp_path: Path, attributes: dict[str, Any], reason: str
) -> None:
    model = Model()
    model.door("1", **attributes)
    row = model.read(tmp_path)["1"]
    assert isinstance(row, NotOurs)
    assert reason in row.reason


def test_an_ordinary_door_is_ours_and_its_hand_stays_unknown(tmp_path: Path) -> None:
    model = Model()
    model.door("1", operation="SINGLE_SWING_RIGHT", ObjectType="Single-Flush")
    row = model.read(tmp_path)["1"]
    assert isinstance(row, ListedOpening)
    assert row.told["hinges_seen_from_push"] == "right"
    assert "hand" not in row.told


def test_a_door_of_a_curtain_wall_finds_its_storey_and_is_proposed_as_not_ours(tmp_path: Path) -> None:
    model = Model()
    wall = model.entity("IfcCurtainWall")
    model.entity("IfcRelContainedInSpatialStructure", RelatedElements=[wall], RelatingStructure=model.storey)
    model.part_of(wall, model.door("1", contained=False))
    row = model.read(tmp_path)["1"]
    assert isinstance(row, NotOurs)
    assert row.reason == "part of a curtain wall"
    assert row.opening.floor == "Level 1"


def test_a_leaf_drawn_inside_a_door_is_proposed_as_not_ours(tmp_path: Path) -> None:
    model = Model()
    model.part_of(model.door("1"), model.door("2", contained=False))
    rows = model.read(tmp_path)
    assert isinstance(rows["1"], ListedOpening)
    assert isinstance(rows["2"], NotOurs)


def test_a_door_exported_twice_under_one_tag_is_counted_once(tmp_path: Path) -> None:
    model = Model()
    model.door("7", Name="A")
    model.door("7", Name="B")
    rows = model.read(tmp_path, number_source="Name")
    assert isinstance(rows["A"], ListedOpening)
    assert isinstance(rows["B"], NotOurs)
    assert rows["B"].reason == "drawn twice: same Tag as A"


def test_a_door_inside_a_space_is_on_the_spaces_storey(tmp_path: Path) -> None:
    model = Model()
    space = model.entity("IfcSpace", Name="101")
    model.part_of(model.storey, space)
    door = model.door("1", contained=False)
    model.entity("IfcRelContainedInSpatialStructure", RelatedElements=[door], RelatingStructure=space)
    assert model.read(tmp_path)["1"].floor == "Level 1"


def test_a_model_in_feet_is_read_in_feet(tmp_path: Path) -> None:
    model = Model()
    foot = model.file.create_entity("IfcConversionBasedUnit", UnitType="LENGTHUNIT", Name="FOOT")
    foot.Dimensions = model.file.create_entity("IfcDimensionalExponents", 1, 0, 0, 0, 0, 0, 0)
    value = model.file.create_entity("IfcLengthMeasure", 0.3048)
    metre = model.project.UnitsInContext.Units[0]
    foot.ConversionFactor = model.file.create_entity("IfcMeasureWithUnit", value, metre)
    model.project.UnitsInContext.Units = [foot]
    model.door("1", width=3.0, height=7.0)
    row = model.read(tmp_path)["1"]
    assert (row.told["width"].inches, row.told["height"].inches) == (36, 84)


def test_the_doors_own_rating_goes_before_its_types_and_text_in_other_letters_is_read(tmp_path: Path) -> None:
    model = Model()
    door, other = model.door("1", Name="Tür"), model.door("2")
    style = model.entity("IfcDoorType", Name="EI30 Tür", PredefinedType="DOOR", OperationType="SINGLE_SWING_LEFT")

    def rating(text: str) -> Any:
        value = model.file.create_entity("IfcLabel", text)
        single = model.file.create_entity("IfcPropertySingleValue", Name="FireRating", NominalValue=value)
        return model.entity("IfcPropertySet", Name="Pset_DoorCommon", HasProperties=[single])

    style.HasPropertySets = [rating("EI30")]
    model.entity("IfcRelDefinesByType", RelatedObjects=[door, other], RelatingType=style)
    model.entity("IfcRelDefinesByProperties", RelatedObjects=[door], RelatingPropertyDefinition=rating("90 MIN"))
    rows = model.read(tmp_path)
    assert [rows[number].told["rating_minutes"] for number in ("1", "2")] == [90, 30]
    assert rows["1"].extra["type in the model"] == "EI30 Tür"


def test_a_door_without_a_number_where_the_person_looks_for_it_is_refused(tmp_path: Path) -> None:
    model = Model()
    model.door("1")
    (row,) = model.read(tmp_path, number_source="Name").values()
    assert isinstance(row, RowRefused)
    assert "Choose where else" in row.mend


def test_a_model_without_doors_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="without a single door"):
        Model().read(tmp_path)


def test_a_text_that_only_claims_to_be_a_model_is_refused(tmp_path: Path) -> None:
    (tmp_path / "model.ifc").write_text("ISO-10303-21;\nHEADER;\nnothing\nEND-ISO-10303-21;\n")
    with pytest.raises(FileRefused), opened_source(tmp_path / "model.ifc", "model.ifc"):
        pass
