"""The font of everything printed, and text made legible in it.

The PDF library brings one free font (Bitstream Vera) with Latin letters and their accents; no font of the machine is
used, so that the same status prints the same everywhere. What it lacks is spelled in Latin letters between brackets:
a name in Arabic can be read aloud, and stands as it was written in the JSON, the CSV and the workbook.
"""

from functools import lru_cache
from itertools import groupby

from anyascii import anyascii
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD, ITALIC = "Vera", "VeraBd", "VeraIt"
# Signs with a plain equal, which need no brackets.
EQUALS = {"→": "->", "←": "<-", "′": "'", "″": '"', "✓": "yes", "Σ": "Sum", "\u2011": "-", "\u202f": " ", "\u2009": " "}
JOINERS = {"\u200d", "\ufe0f", "\ufe0e", "\u200e", "\u200f"}  # they shape what stands beside them and have no sign


@lru_cache(maxsize=1)
def _glyphs() -> frozenset[int]:
    """The characters the font has; registering it is how the library comes to know it."""
    for name in (REGULAR, BOLD, ITALIC):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD)
    return frozenset(pdfmetrics.getFont(REGULAR).face.charToGlyph)


def ready_fonts() -> None:
    """Register the fonts; twice is harmless."""
    _glyphs()


def legible(text: str) -> str:
    """Text of which every character can be printed."""
    glyphs = _glyphs()
    plain = "".join(EQUALS.get(sign, sign) for sign in text if sign not in JOINERS)
    if all(ord(sign) in glyphs or sign == "\n" for sign in plain):
        return plain
    parts = []
    for known, run in groupby(plain, key=lambda sign: sign == "\n" or (ord(sign) in glyphs and sign != " ")):
        words = "".join(run)
        parts.append(words if known or not words.strip() else _spelled(words))
    return "".join(parts)


def _spelled(words: str) -> str:
    """A run of other letters and the blanks about it, spelled."""
    inner = words.strip()
    before, after = words[: words.index(inner)], words[words.index(inner) + len(inner) :]
    spelled = " ".join(anyascii(inner).replace(":", " ").replace("_", " ").split())
    return f"{before}[{spelled or '?'}]{after}"
