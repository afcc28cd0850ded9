"""Sheets of labels to print: each a code that opens its opening on a phone, and what a hand reads without one."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from openings.models import Opening, Site
from sitetrack.field.label_grids import MM, Grid
from sitetrack.field.links import opening_link
from sitetrack.kit.lengths import Length, UnitSystem, format_length
from sitetrack.reports.paper.blocks import ScanCode
from sitetrack.reports.paper.fonts import BOLD, REGULAR, legible, ready_fonts

MOST_LABELS = 3000
MARGIN = 1.5 * MM
NUMBER_SIZES = (22, 18, 15, 12, 10, 8)
SMALL = 7.5
LEAST_SIZE = 5.0


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label."""

    link: str
    number: str
    lines: tuple[str, ...]


def label_of(opening: Opening, site: Site) -> Label:
    """The label of an opening: number, floor, hand and size; what the schedule does not tell is left out."""
    units = site.unit_system
    size = _size(opening.width, opening.height, units)
    lines = (str(opening.floor), " · ".join(part for part in (opening.hand, size) if part), site.name)
    return Label(opening_link(site.code, opening.number), opening.number, tuple(line for line in lines if line))


def label_sheets(labels: Sequence[Label], grid: Grid, *, begin: int = 0) -> bytes:
    """The labels as PDF, from place `begin` of the first sheet on; places before it were used already."""
    ready_fonts()
    file = BytesIO()
    canvas = Canvas(file, pagesize=grid.sheet, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    for place, label in enumerate(labels, start=begin):
        if place > begin and place % grid.each == 0:
            canvas.showPage()
        _draw(canvas, label, grid, grid.corner(place % grid.each))
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, label: Label, grid: Grid, corner: tuple[float, float]) -> None:
    left, bottom = corner
    if grid.cut:
        canvas.setLineWidth(0.25)
        canvas.rect(left, bottom, grid.width, grid.height)
    side = min(grid.height - 2 * MARGIN, grid.width * 0.5)
    # The code carries its own quiet zone, so it needs no margin of its own.
    ScanCode(label.link, side).drawOn(canvas, left + MARGIN, bottom + (grid.height - side) / 2)
    text_left = left + MARGIN + side
    room = grid.width - side - 2 * MARGIN
    size, number = _fitted(legible(label.number), BOLD, room, NUMBER_SIZES)
    lines = [_fitted(legible(line), REGULAR, room, (SMALL, 6.5, LEAST_SIZE)) for line in label.lines]
    height = size + sum(each * 1.35 for each, _ in lines)
    y = bottom + (grid.height + height) / 2 - size * 0.8
    canvas.setFont(BOLD, size)
    canvas.drawString(text_left, y, number)
    for each, line in lines:
        y -= each * 1.35
        canvas.setFont(REGULAR, each)
        canvas.drawString(text_left, y, line)


def _fitted(text: str, font: str, room: float, sizes: Sequence[float]) -> tuple[float, str]:
    """The largest size at which the text fits, or the smallest with the text cut and marked."""
    for size in sizes:
        if stringWidth(text, font, size) <= room:
            return size, text
    while text and stringWidth(f"{text}…", font, sizes[-1]) > room:
        text = text[:-1]
    return sizes[-1], f"{text}…"


def _size(width: Length | None, height: Length | None, units: UnitSystem) -> str:
    if width is None or height is None:
        return ""
    return f"{format_length(width, units=units, feet=True)} × {format_length(height, units=units, feet=True)}"
