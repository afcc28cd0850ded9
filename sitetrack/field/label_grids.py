"""How labels stand on a sheet. Grids are named by the size of the label, as stationers sell them.

Sheets are ISO 216 A4 and ANSI/ASME Y14.1 letter; the grid stands centred on its sheet. Sizes and gaps are common
practice among stationers, from memory: print one sheet on plain paper and hold it against the labels first.
"""

from dataclasses import dataclass

INCH = 72.0
MM = INCH / 25.4
LETTER = (8.5 * INCH, 11 * INCH)
A4 = (210 * MM, 297 * MM)


@dataclass(frozen=True, slots=True)
class Grid:
    """Columns and rows of labels on a sheet; lengths in points. `cut`: on plain paper, with lines to cut along."""

    name: str
    sheet: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    gap_across: float = 0.0
    gap_down: float = 0.0
    cut: bool = False

    @property
    def paper(self) -> str:
        """What the sheet is called."""
        return "A4" if self.sheet == A4 else "letter"

    @property
    def each(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Lower left corner of the label at a place of the sheet, 0 at the top left, row by row."""
        row, column = divmod(place, self.columns)
        left = (self.sheet[0] - self.columns * self.width - (self.columns - 1) * self.gap_across) / 2
        top = (self.sheet[1] + self.rows * self.height + (self.rows - 1) * self.gap_down) / 2
        return left + column * (self.width + self.gap_across), top - row * (self.height + self.gap_down) - self.height


GRIDS = {
    "letter-3x10": Grid("2 5/8 × 1 in", LETTER, 3, 10, 2.625 * INCH, INCH, gap_across=INCH / 8),
    "letter-2x5": Grid("4 × 2 in", LETTER, 2, 5, 4 * INCH, 2 * INCH, gap_across=3 * INCH / 16),
    "a4-3x7": Grid("63.5 × 38.1 mm", A4, 3, 7, 63.5 * MM, 38.1 * MM, gap_across=2.5 * MM),
    "a4-2x4": Grid("99.1 × 67.7 mm", A4, 2, 4, 99.1 * MM, 67.7 * MM, gap_across=2.5 * MM),
    "letter-plain": Grid("2 1/2 × 1 1/4 in", LETTER, 3, 8, 2.5 * INCH, 1.25 * INCH, cut=True),
    "a4-plain": Grid("63 × 34 mm", A4, 3, 8, 63 * MM, 34 * MM, cut=True),
}
