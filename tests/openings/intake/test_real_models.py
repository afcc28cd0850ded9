"""Real building models and COBie, counted another way: doors by a search of the STEP text, components by openpyxl."""

import re
import zipfile
from collections import Counter
from pathlib import Path

import openpyxl
import pytest

from openings.intake.readings import NotOurs
from openings.intake.refusals import FileRefused
from openings.intake.settled import Settled
from openings.intake.sources import opened_source
from openings.selectors.facts import ListedOpening
from tests.openings.intake.samples import sample

MODELS = {
    "LargeBuilding.ifc": ("Level 1",),
    "office-a-2011.ifc.zip": ("Level 1", "Level 2"),
    "duplex-rev-baseline.ifc.zip": ("Level 1", "Level 2"),
    "duplex-rev-movedoor.ifc.zip": ("Level 1", "Level 2"),
}


def step_text(path: Path) -> str:
    if path.suffix != ".zip":
        return path.read_text("latin-1")
    with zipfile.ZipFile(path) as archive:
        return archive.read(archive.namelist()[0]).decode("latin-1")


def read(path: Path, settled: Settled | None = None) -> list[object]:
    with opened_source(path, path.name) as source:
        return list(source.readings(settled or source.choices().proposed))


def openings(rows: list[object]) -> list[ListedOpening]:
    return [row for row in rows if isinstance(row, ListedOpening)]


@pytest.mark.parametrize("name", MODELS)
def test_every_door_written_in_the_model_is_accounted_for(name: str) -> None:
    path = sample(name)
    written = re.findall(r"=\s*IFCDOOR\('([^']+)'", step_text(path))
    rows = read(path)
    keys = [row.opening.source_key if isinstance(row, NotOurs) else row.source_key for row in rows]
    assert sorted(keys) == sorted(written)


@pytest.mark.parametrize("name", MODELS)
def test_only_storeys_with_doors_come_in_and_by_the_name_of_the_model(name: str) -> None:
    rows = read(sample(name))
    assert {opening.floor for opening in openings(rows)} == set(MODELS[name])


@pytest.mark.parametrize("name", MODELS)
def test_the_sites_number_is_proposed_from_mark_and_every_number_is_one_of_the_text(name: str) -> None:
    path = sample(name)
    marks = re.findall(r"IFCPROPERTYSINGLEVALUE\('Mark',[^,]*,IFC\w+\('([^']*)'\)", step_text(path))
    found = openings(read(path))
    assert len({opening.number for opening in found}) == len(found)
    assert {opening.number for opening in found} <= set(marks)


def test_sizes_come_in_the_models_own_unit() -> None:
    office = Counter(
        (opening.told["width"].mm, opening.told["height"].mm, opening.told["leaves"])
        for opening in openings(read(sample("office-a-2011.ifc.zip")))
    )
    # The names of the door types spell their sizes out: 0915 x 2134mm, 1830 x 2083mm, 1830 x 2134mm.
    assert office == {(915, 2134, 1): 87, (1830, 2083, 2): 4, (1830, 2134, 2): 2}
    large = Counter(opening.told["width"].mm for opening in openings(read(sample("LargeBuilding.ifc"))))
    assert large == {915: 16, 1550: 2}


def test_toilet_partitions_are_proposed_as_not_ours_and_a_person_can_take_them() -> None:
    path = sample("office-a-2011.ifc.zip")
    doubtful = [row for row in read(path) if isinstance(row, NotOurs)]
    assert {row.opening.number[:2] for row in doubtful} == {"T-"}
    assert len(doubtful) == len(re.findall(r"=\s*IFCDOOR\('[^']+',#\d+,'M_Toilet", step_text(path)))
    taken = read(path, Settled(number_source="Mark", ours=frozenset({row.group for row in doubtful})))
    assert len(openings(taken)) == 102


def test_what_a_model_cannot_tell_is_not_told() -> None:
    for name in MODELS:
        for opening in openings(read(sample(name))):
            assert not {"hand", "construction", "jamb_depth", "electrified", "hardware_set", "size_is"} & set(
                opening.told
            )
            assert opening.told.get("rating_minutes") is None
            assert opening.told["hinges_seen_from_push"] in ("left", "right") if opening.told["leaves"] == 1 else True


def test_a_placeholder_for_a_rating_is_kept_as_written() -> None:
    texts = {opening.told.get("rating_text") for opening in openings(read(sample("LargeBuilding.ifc")))}
    assert texts == {"Inside door: Fire Rating", None}


def test_the_host_walls_layers_give_its_thickness_and_stud() -> None:
    walls = {opening.wall.code: opening.wall for opening in openings(read(sample("office-a-2011.ifc.zip")))}
    partition = walls["Interior - Partition (92mm Stud)"]
    assert (partition.kind, partition.stud.mm, partition.thickness.mm) == ("steel_stud", 92, 92 + 2 * 16)
    assert walls["Exterior - Brick on Mtl. Stud"].kind == ""
    bare = {opening.wall.kind for opening in openings(read(sample("LargeBuilding.ifc")))}
    assert bare == {""}


def test_rooms_on_each_side_are_read_where_the_model_has_them() -> None:
    rows = [row.opening if isinstance(row, NotOurs) else row for row in read(sample("office-a-2011.ifc.zip"))]
    assert sum(1 for opening in rows if opening.told.get("room_to")) == 87


def test_two_issues_of_one_model_differ_in_the_one_door_that_moved() -> None:
    before, after = (
        {opening.source_key: opening for opening in openings(read(sample(f"duplex-rev-{issue}.ifc.zip")))}
        for issue in ("baseline", "movedoor")
    )
    assert before.keys() == after.keys()
    moved = [
        key
        for key in before
        if (before[key].told["x"], before[key].told["y"]) != (after[key].told["x"], after[key].told["y"])
    ]
    assert [before[key].number for key in moved] == ["A102"]


@pytest.mark.parametrize("share", [0.5, 0.97])
def test_a_cut_off_model_is_refused_though_the_parser_would_open_it(tmp_path: Path, share: float) -> None:
    content = sample("LargeBuilding.ifc").read_bytes()
    (tmp_path / "cut.ifc").write_bytes(content[: int(len(content) * share)])
    with pytest.raises(FileRefused, match="is cut off"):
        read(tmp_path / "cut.ifc")


def test_the_doors_of_a_cobie_workbook_are_those_openpyxl_finds() -> None:
    path = sample("two-storey-house.cobie.xlsx")
    book = openpyxl.load_workbook(path, read_only=True)
    floors = {row[0]: row[4] for row in book["Space"].iter_rows(min_row=2, values_only=True)}
    doors = {
        row[0]: (row[8], floors[row[4].split(",")[0]])
        for row in book["Component"].iter_rows(min_row=2, values_only=True)
        if row[7] == "IfcDoor"
    }
    book.close()
    found = openings(read(path))
    assert {opening.number: (opening.source_key, opening.floor) for opening in found} == doors
    assert {(opening.told["width"].mm, opening.told["height"].mm) for opening in found} == {
        (762, 2032), (813, 2420), (864, 2032), (1250, 2010),
    }  # fmt: skip


def test_an_index_of_doors_and_hardware_sets_reads_whole() -> None:
    path = sample("ctr-door-hardware-index.csv")
    lines = [line.split(",") for line in path.read_text().split()[1:]]
    wanted = dict(line for line in lines if len(line) == 2 and line[0] != "Numbers")
    assert {opening.number: opening.told["hardware_set"] for opening in openings(read(path))} == wanted
