"""Columns of a printed table. Outside check: reportlab itself breaks the headings into lines."""

import pytest

from sitetrack.reports.paper.blocks import CELL_BOLD, LEFT, RIGHT, with_room_for_words, words

TITLES = ["Nivel", "Terminados", "Detenido", "Revisión fallada o vencida"]


def lines_of(title, width):
    broken = words(title, CELL_BOLD)
    broken.wrap(width - LEFT - RIGHT, 1000)
    return [" ".join(part if isinstance(part, str) else part.decode() for part in line[1])
            for line in broken.blPara.lines]  # fmt: skip


def test_no_heading_breaks_within_a_word_and_the_table_stays_as_wide():
    given = [90.0, 38.0, 38.0, 38.0]
    assert lines_of("Terminados", given[1]) != ["Terminados"]  # what is to be mended
    widths = with_room_for_words(TITLES, given)
    for title, width in zip(TITLES, widths, strict=True):
        assert " ".join(lines_of(title, width)) == title
    assert sum(widths) == pytest.approx(sum(given))


@pytest.mark.parametrize("given", [[90.0, 90.0, 90.0, 90.0], [10.0, 10.0, 10.0, 10.0]])
def test_widths_with_room_or_without_hope_stay_as_they_are(given):
    assert with_room_for_words(TITLES, given) == given
