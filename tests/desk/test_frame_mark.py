"""The frame drawing says by shape what the work has come to."""

from xml.etree import ElementTree

import pytest

from openings.sequence.stage import Mark
from sitetrack.desk.frame_mark import FrameLook, Proof, frame_mark, look_of


def drawn(look: FrameLook) -> set[str]:
    """The parts drawn, by class; parsing proves the markup is well formed."""
    root = ElementTree.fromstring(frame_mark(look))
    return {name for element in root.iter() for name in element.get("class", "").split()}


def test_only_scheduled_is_dashed_and_nothing_else() -> None:
    assert drawn(FrameLook()) == {"mark", "mark-scheduled"}


@pytest.mark.parametrize(
    ("mark", "state", "part"),
    [
        (Mark.STANDS_FRAME, "done", "mark-frame"),
        (Mark.ANCHORS_FRAME, "done", "mark-anchor"),
        (Mark.PROVES_OPEN_WALL, "done", "mark-vial-true"),
        (Mark.PROVES_OPEN_WALL, "failed", "mark-vial-failed"),
        (Mark.PROVES_OPEN_WALL, "outdated", "mark-vial-outdated"),
        (Mark.CLOSES_WALL, "done", "mark-board"),
        (Mark.HANGS_LEAF, "done", "mark-leaf"),
    ],
)
def test_each_step_of_the_work_adds_its_part(mark: Mark, state: str, part: str) -> None:
    assert part in drawn(look_of({mark: (state,)}))


def test_a_frame_underway_is_still_dashed() -> None:
    assert "mark-scheduled" in drawn(look_of({Mark.STANDS_FRAME: ("underway",)}))


def test_a_wall_closed_in_several_steps_is_hatched_after_the_last() -> None:
    assert not look_of({Mark.CLOSES_WALL: ("done", "ready")}).closed_in
    assert look_of({Mark.CLOSES_WALL: ("done", "done")}).closed_in
    assert not look_of({Mark.CLOSES_WALL: ()}).closed_in, "where no stage closes the wall, none is drawn closed"


def test_the_check_after_board_speaks_over_the_one_before() -> None:
    before = {Mark.PROVES_OPEN_WALL: ("done",)}
    assert look_of(before | {Mark.PROVES_CLOSED_WALL: ("failed",)}).proof is Proof.FAILED
    assert look_of(before | {Mark.PROVES_CLOSED_WALL: ("waiting",)}).proof is Proof.TRUE


def test_states_differ_by_shape_and_not_only_by_colour() -> None:
    """WCAG 2.2 success criterion 1.4.1: with every class removed, no two looks may be the same picture."""
    looks = [FrameLook(proof=proof, standing=True) for proof in Proof] + [
        FrameLook(),
        FrameLook(standing=True, alert=True),
        FrameLook(standing=True, held=True),
        FrameLook(standing=True, closed_in=True),
    ]
    shapes = set()
    for look in looks:
        root = ElementTree.fromstring(frame_mark(look))
        bubbles = [(e.get("cx"), e.get("d")) for e in root.iter() if e is not root]
        shapes.add((tuple(bubbles), look.standing))
    assert len(shapes) == len(looks)


def test_an_alert_breaks_the_line_and_a_hold_bars_the_opening() -> None:
    assert "mark-break" in drawn(look_of({}, alert=True))
    assert "mark-hold" in drawn(look_of({}, held=True))


def test_left_and_right_hand_hinge_on_their_own_side() -> None:
    left, right = (frame_mark(look_of({Mark.HANGS_LEAF: ("done",)}, hand=hand)) for hand in ("LH", "RH"))
    assert left != right


def test_a_label_is_escaped() -> None:
    hostile = '"><script>alert(1)</script>'
    markup = frame_mark(FrameLook(), label=hostile)
    assert "<script" not in markup
    root = ElementTree.fromstring(markup)
    assert root.get("aria-label") == hostile
    assert root.findtext("title") == hostile
