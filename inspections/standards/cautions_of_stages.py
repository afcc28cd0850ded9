"""Which cautions go with a stage: by what it means and who does it, never by its code, which a site may change.

Common practice. What a stage is marked to do speaks first, because it tells the work itself; a stage without such a
mark gets what goes with its trade. A check changes nothing, so only a rated frame's label and the ladder are left.
"""

from collections.abc import Collection, Mapping

from inspections.standards.cautions import Topic
from openings.sequence.stage import Mark, Trade

BY_MARK: Mapping[Mark, tuple[Topic, ...]] = {
    Mark.STANDS_FRAME: (
        Topic.LIFTING,
        Topic.BRACING,
        Topic.EDGES,
        Topic.GRINDING,
        Topic.HOT_WORK,
        Topic.PINS,
        Topic.DUST,
        Topic.RATED,
    ),
    Mark.ANCHORS_FRAME: (Topic.WIRING, Topic.DUST, Topic.LADDERS, Topic.RATED),
    Mark.PROVES_OPEN_WALL: (Topic.LADDERS, Topic.RATED),
    Mark.CLOSES_WALL: (Topic.LIFTING, Topic.WIRING, Topic.RATED),
    Mark.PROVES_CLOSED_WALL: (Topic.LADDERS, Topic.RATED),
    Mark.HANGS_LEAF: (Topic.LIFTING, Topic.LADDERS, Topic.WIRING, Topic.RATED),
    Mark.CONFIRMS_FLOOR: (),
}
BY_TRADE: Mapping[Trade, tuple[Topic, ...]] = {
    Trade.FRAME_CREW: (Topic.LIFTING, Topic.EDGES),
    Trade.FRAMING: (Topic.PINS, Topic.DUST, Topic.WIRING, Topic.EDGES),
    Trade.MASON: (Topic.LADDERS, Topic.RATED),
    Trade.ELECTRICIAN: (Topic.WIRING, Topic.RATED),
    Trade.DRYWALL: (Topic.WIRING,),
    Trade.PAINTER: (Topic.RATED,),
    Trade.DOOR_HANGER: (Topic.LIFTING, Topic.LADDERS, Topic.WIRING, Topic.RATED),
}
OF_A_CHECK = (Topic.RATED,)


def topics_of(*, trade: str, is_check: bool, marks: Collection[str]) -> tuple[Topic, ...]:
    """What can hurt someone, or spoil a label, at a stage; each once, and none for a trade nothing is listed for."""
    marked = [mark for mark in BY_MARK if mark in marks]
    if marked:
        return tuple(dict.fromkeys(topic for mark in marked for topic in BY_MARK[mark]))
    return OF_A_CHECK if is_check else next((topics for each, topics in BY_TRADE.items() if each == trade), ())
