"""Where the doors of a model stand: its units, and chains of placements with axes of their own.

Held against arithmetic by hand, and on real models against a walk up the chain written here, since the reader itself
asks `ifcopenshell.util.placement`. IfcAxis2Placement3D (ISO 16739, from memory): z is Axis, x is RefDirection made
square to it, y completes them right-handed; where either is left out it is the parent's.
"""

import zipfile
from pathlib import Path
from typing import Any

import ifcopenshell
import numpy as np
import pytest
from ifcopenshell.util.unit import calculate_unit_scale

from openings.intake.model_doors import ModelDoor, model_doors
from tests.openings.intake.placed_model import FOOT, PlacedModel
from tests.openings.intake.samples import sample

TURNED = (0.0, 1.0, 0.0)  # an x axis that points along the parent's y: a quarter turn to the left


def only(model: PlacedModel) -> ModelDoor:
    (door,) = model_doors(model.file)
    return door


@pytest.mark.parametrize(("unit", "metres"), [("m", 1.0), ("mm", 0.001), ("ft", FOOT)])
def test_positions_are_metres_whatever_the_models_unit(unit: str, metres: float) -> None:
    model = PlacedModel(unit)
    model.door("A", at=model.placement(location=(4.0 / metres, 2.5 / metres, 0.0)), width=1.0 / metres)
    door = only(model)
    assert (door.x, door.y) == (pytest.approx(4.0), pytest.approx(2.5))
    assert door.width is not None
    assert float(door.width.mm) == pytest.approx(1000)


def test_a_chain_of_turned_placements_is_followed() -> None:
    """Site at (100, 50); the building turned a quarter left at (10, 0) of it; the wall 3 along that; the door 2 more.

    By hand: along the turned x is along y, so 100 + 10 + 0 and 50 + 0 + 3 + 2. A wall turned again runs along -x.
    """
    model = PlacedModel()
    site = model.placement(location=(100.0, 50.0, 0.0))
    building = model.placement(location=(10.0, 0.0, 0.0), x_axis=TURNED, z_axis=(0.0, 0.0, 1.0), within=site)
    wall = model.placement(location=(3.0, 0.0, 0.0), within=building)
    crossing = model.placement(location=(3.0, 0.0, 0.0), x_axis=TURNED, z_axis=(0.0, 0.0, 1.0), within=building)
    model.door("along", at=model.placement(location=(2.0, 0.0, 0.0), within=wall))
    model.door("across", at=model.placement(location=(2.0, 0.0, 0.0), within=crossing))
    along, across = model_doors(model.file)
    assert (along.x, along.y) == (pytest.approx(110), pytest.approx(55))
    assert (across.x, across.y) == (pytest.approx(108), pytest.approx(53))


def test_a_placement_stood_on_its_side_is_followed_too() -> None:
    """Its z points along the parent's y, so up in it is along y on the plan."""
    model = PlacedModel()
    upright = model.placement(location=(1.0, 1.0, 0.0), x_axis=(1.0, 0.0, 0.0), z_axis=(0.0, 1.0, 0.0))
    model.door("A", at=model.placement(location=(2.0, 0.0, 7.0), within=upright))
    door = only(model)
    assert (door.x, door.y) == (pytest.approx(3), pytest.approx(8))


def test_a_door_placed_nowhere_has_no_position() -> None:
    model = PlacedModel()
    model.door("A")
    door = only(model)
    assert (door.x, door.y) == (None, None)


def test_a_position_farther_than_any_grid_is_left_out() -> None:
    model = PlacedModel()
    model.door("A", at=model.placement(location=(2e7, 0.0, 0.0)))
    door = only(model)
    assert (door.x, door.y) == (None, None)


def climbed(placement: Any, point: Any) -> Any:
    """A point of a placement in the coordinates of the model, climbing the chain from the inside out."""
    while placement is not None:
        relative = placement.RelativePlacement
        z = np.array(relative.Axis.DirectionRatios if relative.Axis else (0.0, 0.0, 1.0))
        z = z / np.linalg.norm(z)
        x = np.array(relative.RefDirection.DirectionRatios if relative.RefDirection else (1.0, 0.0, 0.0))
        x = x - (x @ z) * z
        x = x / np.linalg.norm(x)
        point = np.array(relative.Location.Coordinates) + point[0] * x + point[1] * np.cross(z, x) + point[2] * z
        placement = placement.PlacementRelTo
    return point


@pytest.mark.parametrize("name", ["LargeBuilding.ifc", "duplex-rev-baseline.ifc.zip", "office-a-2011.ifc.zip"])
def test_doors_of_real_models_stand_where_their_placements_put_them(name: str, tmp_path: Path) -> None:
    path = sample(name)
    if path.suffix == ".zip":
        with zipfile.ZipFile(path) as archive:
            path = Path(archive.extract(archive.namelist()[0], tmp_path))
    model = ifcopenshell.open(str(path))
    scale = calculate_unit_scale(model)
    read = {door.key: (door.x, door.y) for door in model_doors(model)}
    wanted = {
        door.GlobalId: tuple(climbed(door.ObjectPlacement, np.zeros(3))[:2] * scale)
        for door in model.by_type("IfcDoor")
    }
    assert len(wanted) > 10
    assert len(set(read.values())) > 10, "they stand apart"
    assert read.keys() == wanted.keys()
    for key, spot in wanted.items():
        assert read[key] == pytest.approx(spot, abs=0.001)
