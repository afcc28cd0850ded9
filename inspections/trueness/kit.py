"""The kit list for a floor or any selection: frames by number, anchors by kind, spreaders by length, screws."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from inspections.standards import spreaders
from inspections.standards.anchors import SCREWS_PER_ANCHOR, Wall
from inspections.standards.limits import Citation
from inspections.trueness.anchors import plan_anchors, rule_set_for
from inspections.trueness.opening import NominalOpening
from sitetrack.kit.lengths import Length

MOST_OPENINGS = 20_000


@dataclass(frozen=True, slots=True)
class KitOpening:
    """One opening to be provided for."""

    number: str
    opening: NominalOpening
    wall: Wall
    jamb_depth: Length | None = None


@dataclass(frozen=True, slots=True)
class AnchorKind:
    """Anchors are told apart by where they go, the wall they hold to, and the jamb depth they span."""

    place: str
    wall: Wall
    jamb_depth: Length | None


@dataclass(frozen=True, slots=True)
class KitList:
    """What to have on the cart. Screws are the practice's least; the frame's listing decides."""

    frames: tuple[str, ...]
    anchors: dict[AnchorKind, int]
    spreaders: dict[Length, int]
    screws: int
    sources: tuple[Citation, ...]


def kit_list(openings: Iterable[KitOpening], *, rule_set: str | None = None) -> KitList:
    """Add up what the openings need; a rule set that does not speak of a wall gives way to that wall's default.

    Spreaders are cut to the opening's exact width, one for the floor and one for mid height; screws are counted for
    jamb and head anchors, at least two each.
    """
    numbers: list[str] = []
    anchors: Counter[AnchorKind] = Counter()
    cut: Counter[Length] = Counter()
    screws = 0
    sources: dict[tuple[str, str, str], Citation] = {}
    for each in openings:
        numbers.append(each.number)
        asked = rule_set_for(each.wall, rule_set)
        plan = plan_anchors(height=each.opening.height, width=each.opening.width, wall=each.wall, rule_set=asked)
        for place, count in (("jamb", 2 * plan.per_jamb), ("head", plan.head), ("base", plan.base)):
            if count:
                anchors[AnchorKind(place, each.wall, None if place == "base" else each.jamb_depth)] += count
        screws += int(SCREWS_PER_ANCHOR.value) * (2 * plan.per_jamb + plan.head)
        cut[each.opening.width] += spreaders.PER_FRAME
        for cited in (*plan.sources, spreaders.SOURCE.cited()):
            sources[cited["name"], cited["edition"], cited["mark"]] = cited
    ordered = dict(sorted(cut.items()))
    return KitList(tuple(numbers), dict(anchors), ordered, screws, tuple(sources.values()))
