"""The kit list, added up by hand from the counts the worked examples give.

Anchors: public-agency project specification 08 11 13 (4 per jamb at 84 in, 2 in the head over 42 in). Spreaders at
floor and mid height cut to the exact width, and two screws an anchor: common practice.
"""

from dataclasses import replace

from inspections.standards.anchors import Wall
from inspections.trueness.kit import AnchorKind, KitOpening, kit_list
from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import INCH, parse_length

DEPTH = parse_length("5 3/4")
SINGLE = KitOpening("101", NominalOpening(INCH * 36, INCH * 84), Wall.STEEL_STUD, DEPTH)
WIDE = replace(SINGLE, number="102", opening=NominalOpening(INCH * 72, INCH * 84, leaves=2))
BLOCK = replace(SINGLE, number="103", wall=Wall.MASONRY)


def test_kit_adds_up_by_kind_and_length() -> None:
    kit = kit_list([SINGLE, replace(SINGLE, number="104"), WIDE, BLOCK])
    assert kit.frames == ("101", "104", "102", "103")
    assert kit.anchors == {
        AnchorKind("jamb", Wall.STEEL_STUD, DEPTH): 24,
        AnchorKind("head", Wall.STEEL_STUD, DEPTH): 2,
        AnchorKind("base", Wall.STEEL_STUD, None): 6,
        AnchorKind("jamb", Wall.MASONRY, DEPTH): 6,
        AnchorKind("base", Wall.MASONRY, None): 2,
    }
    assert kit.spreaders == {INCH * 36: 6, INCH * 72: 2}
    assert kit.screws == 2 * (24 + 2 + 6)
    assert any(source["mark"] == "common_practice" for source in kit.sources)


def test_rule_set_that_does_not_speak_of_a_wall_gives_way() -> None:
    existing = replace(SINGLE, wall=Wall.EXISTING)
    assert kit_list([existing], rule_set="hmma").anchors == kit_list([existing]).anchors
    assert kit_list([SINGLE], rule_set="ufgs").anchors[AnchorKind("jamb", Wall.STEEL_STUD, DEPTH)] == 6


def test_nothing_selected_needs_nothing() -> None:
    kit = kit_list([])
    assert (kit.frames, kit.anchors, kit.spreaders, kit.screws) == ((), {}, {}, 0)
