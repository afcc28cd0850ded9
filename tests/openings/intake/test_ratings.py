"""Fire ratings: the hour marks are the opening ratings of NFPA 80 and the building code's opening table (1/3, 3/4, 1,
1-1/2 and 3 hours); the letter classes those of EN 13501-2; the rest is what real models and schedules hold."""

import pytest

from openings.intake.ratings import rating_minutes


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("90", 90), ("60 MIN", 60), ("45 MIN.", 45), ("20", 20), ("20 MIN S", 20), ("90-MIN", 90),
        ("3/4 HR", 45), ("3/4 hr.", 45), ("1 HR", 60), ("1-1/2 HR", 90), ("1 1/2 hour", 90), ("1½ HR", 90),
        ("3 HR", 180),
        ("C (3/4 HR)", 45), ("0.75 hr", 45), ("EI30", 30), ("EI2 60-C", 60), ("FD30S", 30),
        ("30 minuten brandwerend en zelfsluitend", 30), ("90 minutos", 90),
    ],
)  # fmt: skip
def test_a_rating_is_read_in_minutes(text: str, minutes: int) -> None:
    assert rating_minutes(text) == minutes


@pytest.mark.parametrize("text", ["NR", "N.R.", "Non-rated", "not rated", "0", "sin clasificacion"])
def test_not_rated_in_so_many_words_is_zero(text: str) -> None:
    assert rating_minutes(text) == 0


@pytest.mark.parametrize(
    "text",
    ["", "-", "n/a", "Fire Rating", "Inside door: Fire Rating", "--FIRE_CODE--", "B LABEL", "type 117", "see plan", "7",
     "90 MIN in 2 HR wall"],
)  # fmt: skip
def test_what_does_not_tell_stays_unknown_and_is_not_taken_for_unrated(text: str) -> None:
    assert rating_minutes(text) is None
