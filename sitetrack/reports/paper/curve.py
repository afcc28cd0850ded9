"""Progress over the weeks of a job: earned in a full line, due in a dashed one, both in per cent of the whole."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from sitetrack.reports.paper.fonts import REGULAR, legible

MARGIN_LEFT, MARGIN_FOOT, MARGIN_TOP = 30.0, 26.0, 14.0
MOST_LABELS = 12


@dataclass(frozen=True, slots=True)
class Point:
    """A week and its two figures in per cent; None where there is none."""

    week: str
    earned: int | None
    due: int | None


class ProgressCurve(Flowable):
    """The two lines over the same weeks, with a grid to read them by."""

    def __init__(self, points: Sequence[Point], width: float, height: float, *, earned: str, due: str) -> None:
        super().__init__()
        self.points, self.width, self.height = tuple(points), width, height
        self.words = {"earned": earned, "due": due}

    def at(self, place: int, percent: float) -> tuple[float, float]:
        """Where a week's figure lies; a single week stands in the middle."""
        wide, high = self.width - MARGIN_LEFT - 8, self.height - MARGIN_FOOT - MARGIN_TOP
        share = place / (len(self.points) - 1) if len(self.points) > 1 else 0.5
        return MARGIN_LEFT + share * wide, MARGIN_FOOT + percent / 100 * high

    def draw(self) -> None:
        """Draw the grid, the lines, and what tells them apart."""
        canvas: Canvas = self.canv
        canvas.setFont(REGULAR, 6)
        canvas.setLineWidth(0.25)
        for percent in range(0, 101, 20):
            _, y = self.at(0, percent)
            canvas.line(MARGIN_LEFT, y, self.width - 8, y)
            canvas.drawRightString(MARGIN_LEFT - 3, y - 2, f"{percent} %")
        step = max(1, -(-len(self.points) // MOST_LABELS))
        for place in range(0, len(self.points), step):
            x, y = self.at(place, 0)
            canvas.line(x, y, x, y - 3)
            canvas.drawCentredString(x, y - 10, self.points[place].week)
        self._line("earned", dashed=False)
        self._line("due", dashed=True)
        for place, name in enumerate(("earned", "due")):
            if any(getattr(point, name) is not None for point in self.points):
                x = MARGIN_LEFT + place * 170
                canvas.setLineWidth(1.5 - place * 0.6)
                canvas.setDash([3, 2] if place else [])
                canvas.line(x, 6, x + 20, 6)
                canvas.setDash()
                canvas.drawString(x + 24, 4, legible(self.words[name]))

    def _line(self, name: str, *, dashed: bool) -> None:
        spots = [(place, getattr(point, name)) for place, point in enumerate(self.points)]
        known = [self.at(place, value) for place, value in spots if value is not None]
        if not known:
            return
        canvas: Canvas = self.canv
        canvas.saveState()
        canvas.setLineWidth(0.9 if dashed else 1.5)
        canvas.setDash([3, 2] if dashed else [])
        path = canvas.beginPath()
        path.moveTo(*known[0])
        for spot in known[1:]:
            path.lineTo(*spot)
        canvas.drawPath(path)
        canvas.setDash()
        canvas.circle(*known[-1], 1.8, stroke=1, fill=0 if dashed else 1)
        canvas.restoreState()
