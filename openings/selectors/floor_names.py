"""Names of floors: Level 2, 2nd Floor, L2 and Nivel 2 are one floor; and which of two names lies lower."""

import re
import unicodedata
from functools import lru_cache

_FLOOR_WORDS = re.compile(
    r"\b(?:level|floor|flr|lvl|storey|story|nivel|piso|planta)\b|\b(?:l|fl|n|p)(?=\s?\d)|\bof\b|\bthe\b|\bde\b|\bla\b"
)
_ORDINAL = re.compile(r"\b(\d+)(?:st|nd|rd|th|er|ro|do|to|ra|da|ta)\b")
_WORDS_FOR_NUMBERS = {
    "first": "1", "second": "2", "third": "3", "fourth": "4", "fifth": "5", "sixth": "6", "seventh": "7",
    "eighth": "8", "ninth": "9", "tenth": "10", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5",
    "primer": "1", "primero": "1", "primera": "1", "segundo": "2", "segunda": "2", "tercer": "3", "tercero": "3",
    "tercera": "3", "cuarto": "4", "quinto": "5",
}  # fmt: skip
_BELOW = re.compile(r"\b(?:basement|cellar|sotano|b|bsmt|subsuelo)\s?(\d*)\b")
_GROUND = re.compile(r"\b(?:ground|gf|baja|pb|main)\b")
_TOP = re.compile(r"\b(?:roof|penthouse|attic|azotea|techo|ph)\b")
TOPMOST = 900


# A schedule names the same few floors row after row.
@lru_cache(maxsize=1024)
def floor_key(name: str) -> str:
    """What two names of the same floor have in common; a name without a number keeps its own words."""
    flat = unicodedata.normalize("NFKD", re.sub("[ºª]", " ", name.casefold()))
    words = re.sub(r"[^\w]+", " ", "".join(c for c in flat if not unicodedata.combining(c))).strip()
    words = " ".join(_WORDS_FOR_NUMBERS.get(word, word) for word in words.split())
    bare = _FLOOR_WORDS.sub(" ", _ORDINAL.sub(r"\1", words))
    bare = re.sub(r"\b0+(?=\d)", "", " ".join(bare.split()))
    return bare or words


def same_floor(name: str, *others: str) -> bool:
    """Whether the name means the same floor as any of the others."""
    return floor_key(name) in {floor_key(other) for other in others if other}


def level_by_name(name: str) -> int | None:
    """How high a floor of this name lies beside others by name, or None where the name does not tell."""
    key = floor_key(name)
    if below := _BELOW.search(key):
        return -int(below[1] or 1)
    if _GROUND.search(key):
        return 0
    if _TOP.search(key):
        return TOPMOST
    number = re.search(r"\d+", key)
    return min(int(number[0]), TOPMOST - 1) if number and len(number[0]) < 9 else None
