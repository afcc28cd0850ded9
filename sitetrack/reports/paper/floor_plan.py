"""A floor on paper with every opening where it stands: small glyphs, and the numbers of those that need a look."""

from collections.abc import Mapping, Sequence

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from sitetrack.kit.floor_drawing import Plan, Sheet, plan
from sitetrack.reports.paper.fonts import REGULAR, legible
from sitetrack.reports.paper.frame_glyph import INK_BOTTOM, INK_LEFT, INK_RIGHT, INK_TOP, NUMBER_SIZE, Glyph, draw_frame

SCALE = 0.45  # of a glyph; its frame is then 3 mm high
WIDE, HIGH = (INK_RIGHT - INK_LEFT) * SCALE, (INK_TOP - INK_BOTTOM) * SCALE
EDGE, GAP = 8.0, 6.0  # room for the numbers of the topmost
MOST_COVERED = 0.02  # of all glyphs, those that may lie over another; beyond, the plan says less than the rows do


class FloorPlan(Flowable):
    """Glyphs where their openings stand; a line leads to the spot of one that had to give way."""

    def __init__(self, drawn: Plan[Glyph]) -> None:
        super().__init__()
        self.drawn = drawn
        self.width, self.height = drawn.width, drawn.height + GAP

    def draw(self) -> None:
        """Draw from the upper left corner, as the plan is laid out."""
        canvas: Canvas = self.canv
        canvas.setLineWidth(0.3)
        canvas.rect(0, GAP, self.width, self.drawn.height)
        for place in self.drawn.placed:
            if place.moved:
                canvas.line(*self._middle(place.x, place.y), *self._middle(place.spot_x, place.spot_y))
        for place in self.drawn.placed:
            canvas.saveState()
            canvas.translate(place.x - INK_LEFT * SCALE, self.height - place.y - HIGH - INK_BOTTOM * SCALE)
            canvas.scale(SCALE, SCALE)
            draw_frame(canvas, place.what)
            canvas.restoreState()
            if place.what.needs_a_look:
                canvas.setFont(REGULAR, NUMBER_SIZE)
                canvas.drawCentredString(place.x + WIDE / 2, self.height - place.y + 1, legible(place.what.number))

    def _middle(self, x: float, y: float) -> tuple[float, float]:
        return x + WIDE / 2, self.height - y - HIGH / 2


def floor_plan(glyphs: Sequence[Glyph], spots: Mapping[str, tuple[float, float]], width: float) -> FloorPlan | None:
    """The plan of a floor, so wide; None where not every position is known, or openings stand too close to tell."""
    if not all(glyph.number in spots for glyph in glyphs):
        return None
    wide = width - WIDE - 2 * EDGE
    sheet = Sheet(WIDE, HIGH, margin=EDGE, least=wide, least_with_picture=wide, most=wide)
    drawn = plan([(glyph, *spots[glyph.number]) for glyph in glyphs], sheet=sheet)
    if drawn is None or sum(place.covers for place in drawn.placed) > MOST_COVERED * len(glyphs):
        return None
    return FloorPlan(drawn)
