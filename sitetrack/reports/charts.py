"""The charts beside the workbook's summary, drawn by the spreadsheet from the workbook's own tables."""

from collections.abc import Mapping
from dataclasses import dataclass

from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from sitetrack.reports.tables import Table

MOST_POINTS = 400
SIZE = {"width": 640, "height": 300}
FIRST_COLUMN = "H"
ROWS_EACH = 16
# Told apart in print without colour: one line solid, the other dashed.
INK, GREY = "#1a1a1a", "#8a8a8a"


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a table stands: its sheet, and the first and last row of its figures."""

    table: Table
    sheet: str
    first: int
    last: int

    def values(self, key: str) -> list[str | int]:
        """The cells of one column, as the chart library names them."""
        place = [column.key for column in self.table.columns].index(key)
        return [self.sheet, self.first, place, min(self.last, self.first + MOST_POINTS - 1), place]

    def heading(self, key: str) -> str:
        """The title of one column."""
        return next(str(column.title) for column in self.table.columns if column.key == key)


def add_charts(workbook: Workbook, sheet: Worksheet, spots: Mapping[str, Spot]) -> None:
    """Put progress by week, by floor and by trade beside the summary, each where its table has rows."""
    row = 1
    for name, kind, label, keys in (
        ("curve", "line", "week", ("percent", "due_percent")),
        ("floors", "bar", "floor", ("percent",)),
        ("trades", "bar", "trade", ("percent",)),
    ):
        spot = spots.get(name)
        if spot is None or spot.last < spot.first:
            continue
        chart = workbook.add_chart({"type": kind})
        for place, key in enumerate(keys):
            look = {"color": GREY, "dash_type": "dash"} if place else {"color": INK}
            series = {"name": spot.heading(key), "categories": spot.values(label), "values": spot.values(key)}
            chart.add_series(series | ({"line": look | {"width": 2}} if kind == "line" else {"fill": {"color": GREY}}))
        chart.set_title({"name": str(spot.table.title), "name_font": {"size": 12}})
        percent = {"min": 0, "max": 100, "name": "%"}
        if kind == "bar":
            chart.set_x_axis(percent)
            chart.set_y_axis({"reverse": True})
            chart.set_legend({"none": True})
        else:
            chart.set_y_axis(percent)
            chart.set_legend({"position": "bottom"})
        chart.set_size(SIZE)
        sheet.insert_chart(f"{FIRST_COLUMN}{row}", chart, {"description": str(spot.table.title)})
        row += ROWS_EACH
