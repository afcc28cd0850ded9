"""Hinges and anchors of openings loaded from real models, against the tables as they are published.

The tables are written out here by hand, step by step, and share nothing with the ones the product works by:
hinges by NFPA 80 6.4 (read in articles about it); jamb anchors by the public-agency project specification 08 11 13
(steel studs read in three public copies, masonry from memory) and by UFGS 08110 (its growth past 90 in was read).
"""

from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from inspections.services.takeoffs import kit_of, takeoff_of
from inspections.trueness.profile import DEFAULT_PROFILE, ToleranceProfile
from openings.intake.previewing import preview
from openings.intake.settled import read_settled
from openings.intake.sources import opened_source
from openings.intake.taking_in import SeenFile, choices_for, take_in_file
from openings.models import Opening, Site, WallType
from tests import builders
from tests.openings.intake.samples import sample

pytestmark = pytest.mark.django_db

MODELS = ("LargeBuilding.ifc", "office-a-2011.ifc.zip", "duplex-rev-baseline.ifc.zip", "two-storey-house.cobie.xlsx")
UFGS = ToleranceProfile.from_dict({"anchor_rule_set": "ufgs"})


def hinges_by_nfpa_80(height: Fraction) -> int:
    """Two hinges up to 60 in, and one more for each further 30 in or part of it."""
    count, reach = 2, Fraction(60)
    while height > reach:
        count, reach = count + 1, reach + 30
    return count


def anchors_by_project_spec(height: Fraction, wall: str) -> int:
    """Per jamb. Studs: 3 to 60 in, 4 to 90, 5 to 96, one more each 24 in. Masonry: 2, 3 to 90, 4 to 120, 24 in."""
    steps = {"steel_stud": ((60, 3), (90, 4), (96, 5)), "masonry": ((60, 2), (90, 3), (120, 4))}[wall]
    for up_to, count in steps:
        if height <= up_to:
            return count
    reach, count = Fraction(steps[-1][0]), steps[-1][1]
    while height > reach:
        count, reach = count + 1, reach + 24
    return count


def anchors_by_ufgs(height: Fraction) -> int:
    """Per jamb, whatever the wall: 3 to 90 in, and one more for each further 30 in or part of it."""
    count, reach = 3, Fraction(90)
    while height > reach:
        count, reach = count + 1, reach + 30
    return count


def load(path: Path) -> list[Opening]:
    """Take a model in as a person would who settles that its sizes are the openings'."""
    site: Site = builders.site()
    with opened_source(path, path.name) as source:
        proposed = choices_for(site, source).proposed.to_dict()
        settled = read_settled({**proposed, "defaults": {"size_is": "opening"}})
        seen = SeenFile(path, path.name, settled, preview(site, source, settled).based_on)
        take_in_file(site=site, source=source, seen=seen, who=builders.supervisor(site), now=builders.MONDAY)
    # Models seldom tell what a wall is built of; where they don't, a person says so afterwards.
    WallType.objects.filter(site=site, kind="").update(kind="steel_stud")
    Opening.objects.filter(site=site, wall=None).update(wall=builders.wall(site))
    return list(Opening.objects.filter(site=site).select_related("wall"))


@pytest.fixture(params=MODELS)
def openings(request: pytest.FixtureRequest) -> list[Opening]:
    loaded = load(sample(request.param))
    assert len(loaded) >= 14
    return loaded


def test_hinges_and_anchors_of_every_loaded_opening_are_those_of_the_tables(openings: list[Opening]) -> None:
    for opening in openings:
        taken, by_ufgs = takeoff_of(opening, DEFAULT_PROFILE), takeoff_of(opening, UFGS)
        assert taken is not None, opening.number
        assert by_ufgs is not None
        height = opening.height.inches
        assert taken.hinges.count == hinges_by_nfpa_80(height), opening.number
        assert taken.anchors is not None, opening.number
        assert by_ufgs.anchors is not None
        assert taken.anchors.per_jamb == anchors_by_project_spec(height, opening.wall.kind), opening.number
        assert by_ufgs.anchors.per_jamb == anchors_by_ufgs(height), opening.number
        # Two in the head over 42 in wide in a metal-stud partition, by the same specification.
        wide = opening.width.inches > 42 and opening.wall.kind == "steel_stud"
        assert taken.anchors.head == (2 if wide else 0), opening.number


def test_the_kit_of_a_loaded_model_is_the_sum_of_its_openings(openings: list[Opening]) -> None:
    kit = kit_of(openings, DEFAULT_PROFILE)
    assert kit.left_out == ()
    assert Counter(kit.list.frames) == Counter(opening.number for opening in openings)
    jambs = sum(2 * anchors_by_project_spec(opening.height.inches, opening.wall.kind) for opening in openings)
    counted = Counter[str]()
    for kind, count in kit.list.anchors.items():
        counted[kind.place] += count
    assert counted["jamb"] == jambs
    assert counted["base"] == 2 * len(openings)
    assert kit.list.spreaders == dict(
        sorted(Counter({width: 2 * n for width, n in Counter(o.width for o in openings).items()}).items())
    )
