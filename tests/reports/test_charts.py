"""The workbook's charts, read back with openpyxl: what they draw is what the sheets beside them say."""

import openpyxl
import pytest
from openpyxl.utils.cell import range_boundaries

from sitetrack.reports.making import Format, make_status
from tests.reports.story import AFTER, WEEK, job

pytestmark = pytest.mark.django_db


@pytest.fixture
def book(tmp_path):
    made = make_status(site=job().site, week=WEEK, now=AFTER, folder=tmp_path, formats=[Format.XLSX])
    return openpyxl.load_workbook(made.files[0])


def cells(book, reference):
    """The values a chart draws from, of one column."""
    sheet, _, area = reference.rpartition("!")
    left, top, right, bottom = range_boundaries(area)
    assert left == right
    found = book[sheet.strip("'")].iter_rows(min_col=left, max_col=right, min_row=top, max_row=bottom, values_only=True)
    return [value for (value,) in found]


def drawn(book):
    """Of each chart its series: the categories and the values."""
    return [
        [(cells(book, (s.cat.strRef or s.cat.numRef).f), cells(book, s.val.numRef.f)) for s in chart.ser]
        for chart in book.worksheets[0]._charts
    ]


def test_progress_by_week_by_floor_and_by_trade_are_drawn_from_the_sheets(book):
    (earned, due), (by_floor,), (by_trade,) = drawn(book)
    assert earned[0][-1] >= str(WEEK)
    assert earned[1][earned[0].index(str(WEEK))] == book_figure(book, "Progress, per cent")
    assert due[0] == earned[0]
    assert by_floor[0] == ["L1", "L2"]
    assert by_trade[0][0] == "Frame crew"
    assert all(0 <= value <= 100 for _, values in (by_floor, by_trade) for value in values)


def book_figure(book, name):
    rows = book.worksheets[0].iter_rows(values_only=True)
    return next(row[1] for row in rows if row[0] == name)


def test_an_earned_line_ends_where_the_calendar_is(book):
    earned = drawn(book)[0][0]
    ahead = [value for week, value in zip(*earned, strict=True) if week > str(WEEK)]
    assert ahead
    assert set(ahead) == {None}
