"""Pictures drawn anew: whatever a file carries beside its pixels, such as where it was taken, stays behind.

Size is looked at before anything is decoded: a file of a few thousand bytes can claim a picture that no machine holds.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from sitetrack.kit.problems import BadInput, FieldError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 2560  # of a photo as kept; enough to read a tape on
LONGEST_PLAN = 3200  # of a plan as kept; a line of it is still a line where marks stand 48 px apart


@dataclass(frozen=True, slots=True)
class KeptAs:
    """What a kind of picture is kept as: the library's name of the format, its longest side, and how it is written."""

    format: str
    longest: int
    options: Mapping[str, Any]


PHOTO = KeptAs("JPEG", LONGEST_SIDE, {"quality": 85, "optimize": True})
# Thin lines on white: JPEG smears them, and PNG of a scan is ten times as many bytes.
PLAN = KeptAs("WEBP", LONGEST_PLAN, {"quality": 80, "method": 4})


@dataclass(frozen=True, slots=True)
class Picture:
    """A file of nothing but pixels, and its size in pixels."""

    content: bytes
    width: int
    height: int


def drawn_anew(content: bytes, kept_as: KeptAs = PHOTO, *, field: str = "body") -> Picture:
    """The picture upright, no larger than what is kept, without anything else.

    Raises `BadInput`, naming `field`, for what is no picture.
    """
    size = webp_size(content)
    if size is not None:
        _check_pixels(*size, field)
    try:
        with Image.open(BytesIO(content), formats=FORMATS) as image:
            _check_pixels(*image.size, field)
            return _draw(image, kept_as)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _refusal(_("a picture of more pixels than any camera takes"), field) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError):
        raise _refusal(_("no picture that can be read whole"), field) from None


def webp_size(content: bytes) -> tuple[int, int] | None:
    """Width and height that a WebP file claims, None for other files.

    The library makes room for the whole picture when it opens such a file. Where the size stands: RFC 9649, 2.5 to 2.7
    (RFC 6386, 9.1, for the lossy form).
    """
    if content[:4] != b"RIFF" or content[8:12] != b"WEBP" or len(content) < 30:
        return None
    kind = content[12:16]
    if kind == b"VP8X":
        return _little(content[24:27]) + 1, _little(content[27:30]) + 1
    if kind == b"VP8L":
        bits = _little(content[21:25])
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    return _little(content[26:28]) & 0x3FFF, _little(content[28:30]) & 0x3FFF


def _draw(image: Image.Image, kept_as: KeptAs) -> Picture:
    image.draft("RGB", (kept_as.longest, kept_as.longest))  # a JPEG is decoded no larger than needed
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((kept_as.longest, kept_as.longest))
    # Onto a blank sheet: no comment, profile, place or preview has a way over.
    sheet = Image.new("RGB", upright.size, "white")
    if upright.mode in {"RGBA", "LA", "PA", "P"}:
        upright = upright.convert("RGBA")
        sheet.paste(upright, mask=upright.getchannel("A"))
    else:
        sheet.paste(upright.convert("RGB"))
    kept = BytesIO()
    sheet.save(kept, kept_as.format, **kept_as.options)
    return Picture(kept.getvalue(), *sheet.size)


def _check_pixels(width: int, height: int, field: str) -> None:
    if not 0 < width * height <= MOST_PIXELS:
        raise _refusal(_("a picture of %(width)d by %(height)d pixels") % {"width": width, "height": height}, field)


def _refusal(read: str, field: str) -> BadInput:
    expected = _("a JPEG, PNG or WebP of at most %(most)d million pixels") % {"most": MOST_PIXELS // 1_000_000}
    error = FieldError(field, _("can't be used as a picture"), read=read, expected=expected)
    said = _("The file is %(read)s; expected %(expected)s.") % {"read": read, "expected": expected}
    return BadInput(said, errors=[error])


def _little(raw: bytes) -> int:
    return int.from_bytes(raw, "little")
