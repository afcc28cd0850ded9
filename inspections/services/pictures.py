"""Pictures drawn anew: whatever a file carries beside its pixels, such as where it was taken, stays behind.

Size is looked at before anything is decoded: a file of a few thousand bytes can claim a picture that no machine holds.
"""

from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

from sitetrack.kit.problems import BadInput, FieldError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 2560  # as kept; enough to read a tape on
QUALITY = 85


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG of nothing but pixels, and its size in pixels."""

    content: bytes
    width: int
    height: int


def drawn_anew(content: bytes) -> Picture:
    """The picture upright, no larger than what is kept, without anything else; raises `BadInput` for no picture."""
    size = webp_size(content)
    if size is not None:
        _check_pixels(*size)
    try:
        with Image.open(BytesIO(content), formats=FORMATS) as image:
            _check_pixels(*image.size)
            return _draw(image)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _refusal("a picture of more pixels than any camera takes") from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError):
        raise _refusal("no picture that can be read whole") from None


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


def _draw(image: Image.Image) -> Picture:
    image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is decoded no larger than needed
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    # Onto a blank sheet: no comment, profile, place or preview has a way over.
    sheet = Image.new("RGB", upright.size, "white")
    if upright.mode in {"RGBA", "LA", "PA", "P"}:
        upright = upright.convert("RGBA")
        sheet.paste(upright, mask=upright.getchannel("A"))
    else:
        sheet.paste(upright.convert("RGB"))
    kept = BytesIO()
    sheet.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return Picture(kept.getvalue(), *sheet.size)


def _check_pixels(width: int, height: int) -> None:
    if not 0 < width * height <= MOST_PIXELS:
        raise _refusal(f"a picture of {width} by {height} pixels")


def _refusal(read: str) -> BadInput:
    expected = f"a JPEG, PNG or WebP of at most {MOST_PIXELS // 1_000_000} million pixels"
    error = FieldError("body", "can't be used as a photo", read=read, expected=expected)
    return BadInput(f"The file is {read}; expected {expected}.", errors=[error])


def _little(raw: bytes) -> int:
    return int.from_bytes(raw, "little")
