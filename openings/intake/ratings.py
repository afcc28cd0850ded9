"""Fire ratings as schedules write them: the text is kept, and minutes are only said where the text says them.

Three answers: a number of minutes, 0 for "not rated" in so many words, None for not known. A blank, a dash or a
modelling program's own placeholder is not known; it is not "not rated". The listing and the label decide in any case.
"""

import re
from fractions import Fraction
from functools import lru_cache

NOT_RATED = {"nr", "n r", "non rated", "nonrated", "not rated", "unrated", "no rating", "none", "0", "0 min", "0 hr",
             "non fire rated", "sin clasificacion", "sin resistencia", "no clasificada", "sc"}  # fmt: skip

_MARKS = str.maketrans({"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "–": "-", "‑": "-", "\u00a0": " "})
_HOURS = re.compile(
    r"(?<![\w./])(?:(?P<whole>\d{1,2})(?:(?:\s+|\s*-\s*)(?P<part>[13]/[234]))?|(?P<alone>[13]/[234])|(?P<decimal>\d?\.\d{1,2}))"
    r"\s*-?\s*(?:hours?|hrs?|hr\.|h|horas?)\b\.?",
    re.IGNORECASE,
)
_MINUTES = re.compile(
    r"(?<![\w./])(?P<minutes>\d{1,3})\s*-?\s*(?:minutes?|mins?|minuten|minutos?|m|')(?![\w])", re.IGNORECASE
)
# EN 13501-2 classes (EI30, EI2 60-C) and the older letter-and-minutes marks (FD30S, T30, RF-60, F 90).
_CLASS = re.compile(
    r"\b(?:EI[12]?|EW|E|REI|FD|RF|T|F)[\s-]?(?P<minutes>15|20|30|45|60|90|120|180|240)(?:-?[A-Z]\d?|S)?\b"
)
_BARE = re.compile(r"(?P<minutes>\d{1,3})")

KNOWN_MINUTES = {15, 20, 30, 45, 60, 90, 120, 180, 240}
MOST_MINUTES = 480


@lru_cache(maxsize=1024)
def rating_minutes(text: str) -> int | None:
    """Minutes the text speaks of, 0 where it says "not rated", None where it does not tell."""
    plain = " ".join(text.translate(_MARKS).split())
    if re.sub(r"[\s./-]+", " ", plain).strip().lower() in NOT_RATED:
        return 0
    found = {value for value in (*_hours(plain), *_minutes(plain)) if value <= MOST_MINUTES}
    if not found and (bare := _BARE.fullmatch(plain)) and int(bare["minutes"]) in KNOWN_MINUTES:
        found = {int(bare["minutes"])}
    # Two different ratings in one text ("90 MIN IN 2 HR WALL") leave open which is the door's.
    return found.pop() if len(found) == 1 else None


def _hours(text: str) -> list[int]:
    values = []
    for match in _HOURS.finditer(text):
        hours = Fraction(match["whole"] or 0) + Fraction(match["part"] or match["alone"] or match["decimal"] or 0)
        minutes = hours * 60
        if minutes.denominator == 1 and minutes > 0:
            values.append(int(minutes))
    return values


def _minutes(text: str) -> list[int]:
    return [int(match["minutes"]) for pattern in (_MINUTES, _CLASS) for match in pattern.finditer(text)]
