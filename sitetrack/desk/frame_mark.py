"""The frame drawing: one opening as a small elevation that gets built as the work is.

Theory. The mark is read like a shop drawing, so shape says everything and colour only repeats it. Dashed outline: only
scheduled. Jambs and head in line: the frame is set. Ticks into the wall: anchored. A spirit level on the head: the
check; its bubble in the middle when true, run to one end when it failed, no bubble and a dashed vial when the proof is
outdated. Hatch either side: boarded. Swing lines, apex at the hinges: the leaf is hung. A long-break sign in the strike
jamb: an open alert. A bar across: on hold. Pure: words come in as an argument, markup comes out escaped.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from html import escape

from openings.sequence.stage import Mark

WIDTH, HEIGHT = 48, 60
LEFT, RIGHT, TOP, FLOOR = 11, 37, 13, 56
FACE = 3  # how wide a jamb or the head is drawn
INNER_LEFT, INNER_RIGHT, INNER_TOP = LEFT + FACE, RIGHT - FACE, TOP + FACE
MIDDLE = (LEFT + RIGHT) // 2

FINISHED = frozenset({"done", "outdated"})


class Proof(StrEnum):
    """What the spirit level on the head shows."""

    NONE = "none"
    TRUE = "true"
    FAILED = "failed"
    OUTDATED = "outdated"


@dataclass(frozen=True, slots=True)
class FrameLook:
    """Everything that is drawn of one opening; equal looks are the same drawing."""

    standing: bool = False
    anchored: bool = False
    proof: Proof = Proof.NONE
    closed_in: bool = False
    hung: bool = False
    alert: bool = False
    held: bool = False
    pair: bool = False
    hinges_left: bool = True


def look_of(
    marked: Mapping[Mark, Collection[str]],
    *,
    alert: bool = False,
    held: bool = False,
    leaves: int | None = None,
    hand: str = "",
) -> FrameLook:
    """The look of an opening from the states of the stages that carry each mark; a plan's own codes don't matter.

    Where several stages share a mark (a wall laid in courses), what they stand for is drawn when all are finished.
    """
    return FrameLook(
        standing=finished(marked, Mark.STANDS_FRAME),
        anchored=finished(marked, Mark.ANCHORS_FRAME),
        proof=_proof(marked),
        closed_in=finished(marked, Mark.CLOSES_WALL),
        hung=finished(marked, Mark.HANGS_LEAF),
        alert=alert,
        held=held,
        pair=leaves == 2,
        hinges_left=hand in {"", "LH", "LHR"},
    )


def finished(marked: Mapping[Mark, Collection[str]], mark: Mark) -> bool:
    """Whether every stage of the mark has been finished, and there is one."""
    states = marked.get(mark, ())
    return bool(states) and FINISHED.issuperset(states)


def _proof(marked: Mapping[Mark, Collection[str]]) -> Proof:
    """The later check speaks once it has been read; until then the earlier one does."""
    for mark in (Mark.PROVES_CLOSED_WALL, Mark.PROVES_OPEN_WALL):
        states = marked.get(mark, ())
        for state, proof in (("failed", Proof.FAILED), ("outdated", Proof.OUTDATED), ("done", Proof.TRUE)):
            if state in states:
                return proof
    return Proof.NONE


def frame_mark(look: FrameLook, *, label: str = "") -> str:
    """SVG of the look; `label` names it for those who can't see it, and without one it is decoration."""
    if label:
        said = escape(label, quote=True)
        head = f'role="img" aria-label="{said}"'
        title = f"<title>{said}</title>"
    else:
        head, title = 'aria-hidden="true"', ""
    return (
        f'<svg class="mark" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" focusable="false" {head}>'
        f"{title}{_drawn(look)}</svg>"
    )


@lru_cache(maxsize=4096)
def _drawn(look: FrameLook) -> str:
    parts = [_boards() if look.closed_in else "", _leaf(look) if look.hung else "", _frame(look)]
    if look.anchored:
        parts.append(_path("mark-anchor", _anchors()))
    parts.append(_level(look.proof))
    if look.alert:
        parts.append(_break())
    if look.held:
        parts.append(_bar())
    return "".join(parts)


def _path(name: str, d: str) -> str:
    return f'<path class="{name}" d="{d}"/>'


def _frame(look: FrameLook) -> str:
    outside = f"M{LEFT} {FLOOR}V{TOP}H{RIGHT}V{FLOOR}"
    if not look.standing:
        return _path("mark-scheduled", outside)
    inside = f"M{INNER_LEFT} {FLOOR}V{INNER_TOP}H{INNER_RIGHT}V{FLOOR}"
    feet = f"M{LEFT - 1} {FLOOR}H{INNER_LEFT + 1}M{INNER_RIGHT - 1} {FLOOR}H{RIGHT + 1}"
    return _path("mark-frame", outside + inside + feet)


def _anchors() -> str:
    return "".join(f"M{LEFT} {y}h-5M{RIGHT} {y}h5" for y in (20, 29, 38, 47))


def _boards() -> str:
    strokes = []
    for x in (1, RIGHT + 1):
        strokes += [f"M{x} {y}l9 -6" for y in range(20, FLOOR, 6)]
    edges = f"M1 {TOP}V{FLOOR}M{WIDTH - 1} {TOP}V{FLOOR}"
    return _path("mark-board", "".join(strokes) + edges)


def _leaf(look: FrameLook) -> str:
    """Swing lines of an elevation: they meet at the hinges."""
    half = (INNER_TOP + FLOOR) // 2
    left, right = INNER_LEFT + 1, INNER_RIGHT - 1
    bottom, top = FLOOR - 2, INNER_TOP + 1
    sheet = _path("mark-leaf", f"M{left} {top}H{right}V{bottom}H{left}Z")
    if look.pair:
        swing = f"M{MIDDLE} {top}L{left} {half}L{MIDDLE} {bottom}M{MIDDLE} {top}L{right} {half}L{MIDDLE} {bottom}"
        return sheet + _path("mark-leaf", f"M{MIDDLE} {top}V{bottom}") + _path("mark-swing", swing)
    hinge, strike = (left, right) if look.hinges_left else (right, left)
    return sheet + _path("mark-swing", f"M{strike} {top}L{hinge} {half}L{strike} {bottom}")


def _level(proof: Proof) -> str:
    """A spirit level lying on the head."""
    if proof is Proof.NONE:
        return ""
    vial = f'<rect class="mark-vial mark-vial-{proof.value}" x="12" y="3" width="24" height="8" rx="4"/>'
    if proof is Proof.TRUE:
        return vial + _path("mark-gauge", "M20 3v8M28 3v8") + '<circle class="mark-bubble" cx="24" cy="7" r="2.4"/>'
    if proof is Proof.FAILED:
        bubble = '<circle class="mark-bubble mark-bubble-failed" cx="32" cy="7" r="2.4"/>'
        return vial + _path("mark-gauge", "M20 3v8M28 3v8") + bubble
    return vial


def _break() -> str:
    """A long-break sign over the strike jamb; the wider stroke beneath rubs the jamb out first."""
    line = f"M{RIGHT - 2} 33V37L{RIGHT - 8} 40L{RIGHT + 5} 44L{RIGHT - 2} 47V52"
    return _path("mark-break-gap", line) + _path("mark-break", line)


def _bar() -> str:
    return _path("mark-hold", f"M3 25H{WIDTH - 3}") + _path("mark-hold-end", f"M3 20v10M{WIDTH - 3} 20v10")
