"""A page of a PDF as a picture, drawn by a program of its own with its time and memory bounded."""

import subprocess
import sys
from pathlib import Path

from django.utils.translation import gettext as _

from sitetrack.kit.pictures import LONGEST_PLAN
from sitetrack.kit.problems import BadInput, FieldError

PROGRAM = Path(__file__).with_name("pdf_page.py")
PATIENCE = 30  # seconds of waiting; the program itself takes fewer of computing
UNREADABLE, NO_SUCH_PAGE = 3, 4


def is_pdf(content: bytes) -> bool:
    """Whether a file calls itself a PDF in its first 1024 bytes, where readers look (ISO 32000-1 annex H, memory)."""
    return b"%PDF-" in content[:1024]


def drawn_page(content: bytes, page: int, *, field: str = "page") -> tuple[bytes, int]:
    """The page (counted from 1) as PNG, and how many pages there are. Raises `BadInput`."""
    try:
        done = subprocess.run(  # noqa: S603 - our own program and two numbers
            [sys.executable, "-P", str(PROGRAM), str(page), str(LONGEST_PLAN)],
            input=content, capture_output=True, timeout=PATIENCE, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise _refusal("file", _("The page takes too long to draw. Send it as a picture (PNG or JPEG).")) from None
    pages, _break, picture = done.stdout.partition(b"\n")
    if done.returncode == NO_SUCH_PAGE:
        said = _("The file has %(pages)d pages; there is no page %(page)d.") % {"pages": int(pages), "page": page}
        raise _refusal(field, said, read=str(page), expected=_("from 1 to %(most)d") % {"most": int(pages)})
    if done.returncode == UNREADABLE:
        raise _refusal("file", _("The PDF can't be opened: it is damaged, or locked by a password."))
    if done.returncode != 0 or not picture:
        raise _refusal("file", _("This page can't be drawn. Send it as a picture (PNG or JPEG)."))
    return picture, int(pages)


def _refusal(field: str, said: str, *, read: str = "", expected: str = "") -> BadInput:
    return BadInput(said, errors=[FieldError(field, said, read=read, expected=expected)])
