"""The project's own SVG drawings on paper: the few marks that the frame drawing is made of, and no others."""

from collections.abc import Callable
from typing import Any
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import fromstring
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from sitetrack.reports.paper.fonts import REGULAR, legible

NAMESPACE = "{http://www.w3.org/2000/svg}"


class Picture(Flowable):
    """An SVG text drawn no wider and no higher than it is given room for."""

    def __init__(self, svg: str, width: float, height: float) -> None:
        super().__init__()
        self.root = fromstring(svg)
        _, _, wide, high = map(float, self.root.get("viewBox", "0 0 1 1").split())
        self.scale = min(width / wide, height / high)
        self.width, self.height = wide * self.scale, high * self.scale

    def draw(self) -> None:
        """Draw every mark; y runs down in SVG and up on paper."""
        canvas: Canvas = self.canv
        canvas.saveState()
        canvas.translate(0, self.height)
        canvas.scale(self.scale, -self.scale)
        for mark in self.root.iter():
            drawer = DRAWERS.get(str(mark.tag).removeprefix(NAMESPACE))
            if drawer:
                canvas.saveState()
                canvas.setLineWidth(_number(mark, "stroke-width", 1))
                canvas.setDash([float(part) for part in mark.get("stroke-dasharray", "").split()])
                drawer(canvas, mark)
                canvas.restoreState()
        canvas.restoreState()


def _number(mark: Element, name: str, default: float = 0) -> float:
    return float(mark.get(name, default))


def _line(canvas: Canvas, mark: Element) -> None:
    canvas.line(*(_number(mark, name) for name in ("x1", "y1", "x2", "y2")))


def _outline(canvas: Canvas, mark: Element) -> None:
    points = [tuple(map(float, point.split(","))) for point in mark.get("points", "").split()]
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if str(mark.tag).endswith("polygon"):
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _block(canvas: Canvas, mark: Element) -> None:
    canvas.rect(*(_number(mark, name) for name in ("x", "y", "width", "height")), stroke=0, fill=1)


def _text(canvas: Canvas, mark: Element) -> None:
    canvas.translate(_number(mark, "x"), _number(mark, "y"))
    canvas.scale(1, -1)
    canvas.setFont(REGULAR, _number(mark, "font-size", 9))
    said = legible(mark.text or "")
    put: dict[str, Callable[..., Any]] = {"start": canvas.drawString, "end": canvas.drawRightString}
    put.get(mark.get("text-anchor", ""), canvas.drawCentredString)(0, 0, said)


DRAWERS: dict[str, Callable[[Canvas, Element], None]] = {
    "line": _line,
    "polygon": _outline,
    "polyline": _outline,
    "rect": _block,
    "text": _text,
}
