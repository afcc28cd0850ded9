"""What sheets are put together from: headings, paragraphs, ruled tables, figures, codes to scan."""

from collections.abc import Sequence
from html import escape
from typing import Any

import segno
from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Table, TableStyle

from sitetrack.reports.paper.fonts import BOLD, REGULAR, legible, ready_fonts

ready_fonts()
BODY = ParagraphStyle("body", fontName=REGULAR, fontSize=8.5, leading=11.5)
SMALL = ParagraphStyle("small", parent=BODY, fontSize=7, leading=9)
CELL = ParagraphStyle("cell", parent=BODY, fontSize=7, leading=8.6, splitLongWords=True)
CELL_BOLD = ParagraphStyle("cell-bold", parent=CELL, fontName=BOLD, fontSize=6.2, leading=7.6)
HEADING = ParagraphStyle("heading", parent=BODY, fontName=BOLD, fontSize=12, leading=15, spaceBefore=8, spaceAfter=4)
SUBHEADING = ParagraphStyle("subheading", parent=HEADING, fontSize=9.5, leading=12, spaceBefore=6, spaceAfter=2)
MOST_IN_CELL = 1200  # characters: a cell higher than a sheet can't be broken
CUT = " […]"
LEFT, RIGHT = 2, 3  # points beside what stands in a cell
SIDES = LEFT + RIGHT + 0.5  # and what rounding may take


def words(text: Any, style: ParagraphStyle = BODY) -> Paragraph:
    """A paragraph of plain text; nothing in it is taken for markup."""
    return Paragraph(escape(legible(str(text))).replace("\n", "<br/>"), style)


def heading(text: Any) -> Paragraph:
    """The heading of a part; ask for room before it, so that it does not end a sheet."""
    return words(text, HEADING)


def subheading(text: Any) -> Paragraph:
    """A heading within a part."""
    return words(text, SUBHEADING)


def cell(text: Any, style: ParagraphStyle = CELL) -> Paragraph:
    """What stands in a cell of a table, cut with a mark where it is longer than a sheet can show."""
    said = "" if text is None else str(text)
    return words(said if len(said) <= MOST_IN_CELL else said[:MOST_IN_CELL] + CUT, style)


def with_room_for_words(titles: Sequence[Any], widths: Sequence[float]) -> list[float]:
    """The widths, each at least as wide as the longest word of its title, at the cost of the others' slack.

    A heading that breaks within a word is misread. Where there is no slack for it, the widths stay as they are.
    """
    least = [_longest_word(title) + SIDES for title in titles]
    lacking = sum(max(need - width, 0) for need, width in zip(least, widths, strict=True))
    slack = sum(max(width - need, 0) for need, width in zip(least, widths, strict=True))
    if not 0 < lacking <= slack:
        return list(widths)
    kept = 1 - lacking / slack
    return [need + max(width - need, 0) * kept for need, width in zip(least, widths, strict=True)]


def _longest_word(title: Any) -> float:
    said = legible(str(title)).split()
    return max((stringWidth(word, CELL_BOLD.fontName, CELL_BOLD.fontSize) for word in said), default=0.0)


def ruled(
    columns: Sequence[Any], rows: Sequence[Sequence[Any]], widths: Sequence[float], *, numbers: Sequence[int] = ()
) -> Table:
    """A ruled table whose heading comes again on every sheet; `numbers` are the columns set to the right."""
    right = ParagraphStyle("cell-number", parent=CELL, alignment=2)
    right_bold = ParagraphStyle("cell-number-bold", parent=CELL_BOLD, alignment=2)
    head = [cell(title, right_bold if at in numbers else CELL_BOLD) for at, title in enumerate(columns)]
    body = [
        [
            each if isinstance(each, Flowable) else cell(each, right if at in numbers else CELL)
            for at, each in enumerate(row)
        ]
        for row in rows
    ]
    table = Table([head, *body], colWidths=list(widths), repeatRows=1)
    table.setStyle(
        TableStyle(
            [
                ("LINEBELOW", (0, 0), (-1, 0), 1, colors.black),
                ("LINEBELOW", (0, 1), (-1, -1), 0.25, colors.grey),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), LEFT),
                ("RIGHTPADDING", (0, 0), (-1, -1), RIGHT),
                ("TOPPADDING", (0, 0), (-1, -1), 1.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ]
        )
    )
    return table


def beside(parts: Sequence[Any], widths: Sequence[float]) -> Table:
    """Parts side by side, without rules."""
    table = Table([list(parts)], colWidths=list(widths))
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ]
        )
    )
    return table


class ScanCode(Flowable):
    """A QR code (ISO/IEC 18004) with the quiet zone of four modules that it asks for."""

    def __init__(self, address: str, side: float = 72) -> None:
        super().__init__()
        self.matrix = tuple(segno.make(address, error="m", micro=False).matrix_iter(border=4))
        self.width = self.height = side

    def draw(self) -> None:
        """Draw the dark modules, run by run."""
        canvas: Canvas = self.canv
        module = self.width / len(self.matrix)
        for row, line in enumerate(self.matrix):
            start = None
            for at, dark in enumerate([*line, 0]):
                if dark and start is None:
                    start = at
                elif not dark and start is not None:
                    bottom = self.height - (row + 1) * module
                    canvas.rect(start * module, bottom, (at - start) * module, module, stroke=0, fill=1)
                    start = None
