"""Photos small, for a page that shows many."""

from functools import lru_cache
from io import BytesIO

from PIL import Image

from inspections.services.photos import read_photo

SIDE = 320  # pixels; two device pixels for each of the 160 a page gives it
QUALITY = 75
KEPT = 256  # some 20 kB each


@lru_cache(maxsize=KEPT)
def small_photo(digest: str) -> bytes:
    """A kept photo as a JPEG whose longer side is at most `SIDE`; raises OSError where it is not kept.

    A photo never changes under its digest, so the last few asked for are held in memory.
    """
    with Image.open(BytesIO(read_photo(digest)), formats=("JPEG",)) as image:
        image.draft("RGB", (SIDE, SIDE))  # decoded no larger than needed
        image.thumbnail((SIDE, SIDE))
        small = BytesIO()
        image.save(small, "JPEG", quality=QUALITY, optimize=True)
    return small.getvalue()
