"""An opening as a small frame that gets built as the work is, many to a sheet.

Shape says everything, so that a print without colour does too: a dashed outline is only scheduled; lines are a frame
that stands; ticks at the sides are its anchors; a level on the head is its proof, with a bubble in the middle where
true, run to one end where a check failed, without a bubble where outdated; hatches are board; swing lines are the leaf
hung; a stroke through the strike jamb is an open alert; a bar across is a hold.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from openings.sequence.stage import Mark
from sitetrack.reports.paper.fonts import REGULAR, legible

FINISHED = frozenset({"done", "outdated"})
PROOFS = (("failed", "failed"), ("outdated", "outdated"), ("done", "true"))  # the worse one is drawn
CELL_WIDTH, CELL_HEIGHT = 31.0, 40.0
WIDE, HIGH = 13.0, 19.0
LEFT, FOOT = 9.0, 10.0
NUMBER_SIZE = 4.6
INK_LEFT, INK_RIGHT = LEFT - 7, LEFT + WIDE + 7  # what is drawn of a frame, its board and its level, without its number
INK_BOTTOM, INK_TOP = FOOT, FOOT + HIGH + 6


@dataclass(frozen=True, slots=True)
class Glyph:
    """What is drawn of one opening. `proof` is "", "true", "failed" or "outdated"."""

    number: str
    standing: bool = False
    anchored: bool = False
    proof: str = ""
    boarded: bool = False
    hung: bool = False
    alert: bool = False
    held: bool = False

    @property
    def needs_a_look(self) -> bool:
        """Whether something about it is not as it should be."""
        return self.alert or self.held or self.proof in {"failed", "outdated"}


def glyph_of(number: str, marked: Mapping[Mark, Collection[str]], *, alert: bool, held: bool) -> Glyph:
    """The glyph of an opening from the states of those stages it needs that carry each mark, whatever their codes."""

    def finished(mark: Mark) -> bool:
        states = marked.get(mark, ())
        return bool(states) and FINISHED.issuperset(states)

    return Glyph(
        number=number,
        standing=finished(Mark.STANDS_FRAME),
        anchored=finished(Mark.ANCHORS_FRAME),
        proof=_proof(marked),
        boarded=finished(Mark.CLOSES_WALL),
        hung=finished(Mark.HANGS_LEAF),
        alert=alert,
        held=held,
    )


def _proof(marked: Mapping[Mark, Collection[str]]) -> str:
    """The later check speaks once it has been read; until then the earlier one does."""
    for mark in (Mark.PROVES_CLOSED_WALL, Mark.PROVES_OPEN_WALL):
        for state, proof in PROOFS:
            if state in marked.get(mark, ()):
                return proof
    return ""


class GlyphRow(Flowable):
    """Some glyphs standing on one floor line, their numbers beneath."""

    def __init__(self, glyphs: Sequence[Glyph]) -> None:
        super().__init__()
        self.glyphs = tuple(glyphs)
        self.width, self.height = CELL_WIDTH * len(self.glyphs), CELL_HEIGHT

    def draw(self) -> None:
        """Draw them from left to right."""
        canvas: Canvas = self.canv
        canvas.setLineWidth(0.4)
        canvas.line(0, FOOT, self.width, FOOT)
        for place, glyph in enumerate(self.glyphs):
            canvas.saveState()
            canvas.translate(place * CELL_WIDTH, 0)
            draw_glyph(canvas, glyph)
            canvas.restoreState()


def draw_glyph(canvas: Canvas, glyph: Glyph) -> None:
    """Draw one glyph and its number in its cell, from the cell's lower left corner."""
    draw_frame(canvas, glyph)
    canvas.setFont(REGULAR, NUMBER_SIZE)
    shown = legible(glyph.number)
    canvas.drawCentredString(CELL_WIDTH / 2, 3, shown if len(shown) <= 9 else f"{shown[:8]}…")


def draw_frame(canvas: Canvas, glyph: Glyph) -> None:
    """Draw the frame of a glyph alone, where it stands in its cell."""
    right, top = LEFT + WIDE, FOOT + HIGH
    if glyph.boarded:
        canvas.setLineWidth(0.4)
        for x in (LEFT - 7, right + 2):
            canvas.lines([(x, y, x + 5, y + 3.5) for y in (FOOT + 1, FOOT + 5, FOOT + 9, FOOT + 13)])
    canvas.setLineWidth(0.6 if not glyph.standing else 0.9)
    if not glyph.standing:
        canvas.setDash(1.5, 1.2)
    frame = canvas.beginPath()
    for inset in (0.0, 1.6) if glyph.standing else (0.0,):
        frame.moveTo(LEFT + inset, FOOT)
        frame.lineTo(LEFT + inset, top - inset)
        frame.lineTo(right - inset, top - inset)
        frame.lineTo(right - inset, FOOT)
    canvas.drawPath(frame)
    canvas.setDash()
    canvas.setLineWidth(0.5)
    if glyph.anchored:
        canvas.lines(
            [(x, y, x + step, y) for x, step in ((LEFT, -2), (right, 2)) for y in (FOOT + 4, FOOT + 10, top - 3)]
        )
    if glyph.hung:
        half = (FOOT + top) / 2
        canvas.lines([(right - 2.4, top - 2.4, LEFT + 2.4, half), (LEFT + 2.4, half, right - 2.4, FOOT + 1)])
    _draw_level(canvas, glyph.proof, top)
    if glyph.alert:
        canvas.setLineWidth(1.4)
        canvas.line(right - 4, FOOT + 5, right + 4, FOOT + 11)
    if glyph.held:
        canvas.setLineWidth(2)
        canvas.line(LEFT - 6, FOOT + 8, right + 6, FOOT + 8)


def _draw_level(canvas: Canvas, proof: str, top: float) -> None:
    if not proof:
        return
    if proof == "outdated":
        canvas.setDash(1, 1)
    canvas.roundRect(LEFT + 1, top + 1.5, WIDE - 2, 4, 2)
    canvas.setDash()
    if proof != "outdated":
        at = LEFT + WIDE / 2 if proof == "true" else LEFT + WIDE - 3.4
        canvas.circle(at, top + 3.5, 1.2, stroke=0, fill=1)
