"""A printed document in the manner of a shop drawing: a ruled border, a title block at the foot of every sheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, NextPageTemplate, PageTemplate

from sitetrack.reports.paper.fonts import BOLD, REGULAR, legible, ready_fonts

SIZES = {"letter": LETTER, "a4": A4}
EDGE = 12 * mm
BLOCK_HEIGHT = 15 * mm
PORTRAIT, LANDSCAPE = "portrait", "landscape"


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What every sheet says of itself: the job, the document, what it covers, its mark; `page_words` counts sheets."""

    job: str
    title: str
    covers: str
    mark: str
    page_words: str
    language: str = "en"


def write_pdf(path: Path, size: str, block: TitleBlock, story: Sequence[Flowable]) -> int:
    """Print a story to `path` on paper of this size ("letter" or "a4"); returns the number of sheets.

    The same story gives the same bytes: nothing of the clock or the machine gets in.
    """
    sheets = Sheets(path, size, block)
    sheets.add(story)
    return sheets.finish()


class Sheets:
    """A document printed part by part; dropped before `finish`, it leaves no file."""

    def __init__(self, path: Path, size: str, block: TitleBlock) -> None:
        ready_fonts()
        self._document = _Document(str(path), size, block)
        self._document.begin(block)

    def add(self, story: Sequence[Flowable]) -> None:
        """Lay out a part of the story behind what is there."""
        self._document.lay_out(list(story))

    def finish(self) -> int:
        """Write the file; returns the number of sheets."""
        return self._document.end()


def turned(way: str) -> Flowable:
    """The sheets that follow lie this way: `PORTRAIT` or `LANDSCAPE`."""
    return cast(Flowable, NextPageTemplate(way))


def room(size: str, way: str = PORTRAIT) -> tuple[float, float]:
    """Width and height left for the story, in points."""
    width, height = SIZES[size] if way == PORTRAIT else landscape(SIZES[size])
    return width - 2 * EDGE - 12, height - 2 * EDGE - BLOCK_HEIGHT - 12


class _Document(BaseDocTemplate):
    def __init__(self, path: str, size: str, block: TitleBlock) -> None:
        named = {
            "title": legible(f"{block.title} {block.covers}"),
            "subject": legible(block.job),
            "lang": block.language,
        }
        super().__init__(path, pagesize=SIZES[size], invariant=1, creator="Sitetrack", **named)
        self.addPageTemplates([_template(way, size, block) for way in (PORTRAIT, LANDSCAPE)])

    # The three parts of the library's `build`, which takes a whole story at once and can't be stopped in the middle.
    def begin(self, block: TitleBlock) -> None:
        self._startBuild(canvasmaker=_numbering(block))

    def lay_out(self, flowables: list[Flowable]) -> None:
        while flowables:
            self.clean_hanging()
            self.handle_flowable(flowables)

    def end(self) -> int:
        self._endBuild()
        return int(self.page)


def _template(way: str, size: str, block: TitleBlock) -> PageTemplate:
    page = SIZES[size] if way == PORTRAIT else landscape(SIZES[size])
    width, height = room(size, way)
    frame = Frame(EDGE, EDGE + BLOCK_HEIGHT, width + 12, height + 12, id=way, showBoundary=0)

    def drawn(canvas: Canvas, document: Any) -> None:
        _draw_block(canvas, page, block)

    return PageTemplate(id=way, frames=[frame], pagesize=page, onPage=drawn)


def _draw_block(canvas: Canvas, page: tuple[float, float], block: TitleBlock) -> None:
    width, height = page
    canvas.saveState()
    canvas.setLineWidth(1.2)
    canvas.rect(EDGE - 4, EDGE - 4, width - 2 * EDGE + 8, height - 2 * EDGE + 8)
    canvas.setLineWidth(0.6)
    top = EDGE + BLOCK_HEIGHT - 6
    canvas.line(EDGE - 4, top, width - EDGE + 4, top)
    canvas.setFont(BOLD, 9)
    canvas.drawString(EDGE + 4, top - 14, _fitting(block.job, BOLD, 9, width * 0.5))
    canvas.drawRightString(width - EDGE - 4, top - 14, _fitting(block.title, BOLD, 9, width * 0.35))
    canvas.setFont(REGULAR, 7)
    canvas.drawString(EDGE + 4, top - 26, _fitting(block.covers, REGULAR, 7, width * 0.6))
    canvas.setFont(REGULAR, 5.5)
    canvas.drawString(EDGE + 4, top - 36, _fitting(block.mark, REGULAR, 5.5, width * 0.75))
    canvas.restoreState()


def _fitting(text: str, font: str, size: float, width: float) -> str:
    """Text cut, with a mark, to what the block has room for."""
    shown = legible(text)
    measure = Canvas("").stringWidth
    if measure(shown, font, size) <= width:
        return shown
    while shown and measure(shown + "…", font, size) > width:
        shown = shown[:-1]
    return shown + "…"


def _numbering(block: TitleBlock) -> type[Canvas]:
    class Numbered(Canvas):
        """Keeps every sheet until their number is known, then writes it on each."""

        def __init__(self, *given: Any, **named: Any) -> None:
            super().__init__(*given, **named)
            self._sheets: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 - the library's name
            self._sheets.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, sheet in enumerate(self._sheets, 1):
                self.__dict__.update(sheet)
                self.setFont(REGULAR, 7)
                words = block.page_words % {"n": number, "of": len(self._sheets)}
                self.drawRightString(self._pagesize[0] - EDGE - 4, EDGE + BLOCK_HEIGHT - 32, legible(words))
                super().showPage()
            super().save()

    return Numbered
