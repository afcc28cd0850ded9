"""The rows that look along the time of the job: how progress grew, what is due, what is coming."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import timedelta

from openings.models import Floor
from sitetrack.reports.names import Names
from sitetrack.reports.tables import Plain
from sitetrack.reports.totals import Totals, percent
from sitetrack.reports.week import Week, week_of

Row = dict[str, Plain]
AHEAD = timedelta(days=14)
MOST_WEEKS = 300  # of a curve: a job of more than five years shows its last


def curve_rows(totals: Totals, floors: Sequence[Floor]) -> Iterator[Row]:
    """One row for each week from the first work or due floor to the last: weight earned and weight due by its end.

    Earned is what stands now, by the week in which it was done; work that was since undone is not in it. Due is the
    weight of the floors with a date, so that the two lines meet where every floor has one.
    """
    running = totals.period.week
    due: Counter[Week] = Counter()
    for floor in floors:
        if floor.due_on:
            due[week_of(floor.due_on)] += totals.floors[floor.pk].now["total"]
    weeks = [*totals.done_on, *due, running]
    whole = totals.site.now["total"]
    week, earned_by, due_by = min(weeks), 0, 0
    rows: list[Row] = []
    while week <= max(weeks):
        earned_by += totals.done_on[week]
        due_by += due[week]
        past = week <= running
        rows.append(
            {
                "week": str(week),
                "earned": earned_by if past else None,
                "percent": percent(earned_by, whole) if past else None,
                "due": due_by if due else None,
                "due_percent": percent(due_by, whole) if due else None,
            }
        )
        week = week.shifted(1)
    yield from rows[-MOST_WEEKS:]


def coming_rows(totals: Totals, floors: Sequence[Floor], names: Names) -> Iterator[Row]:
    """Every stage still to do on floors due within two weeks of the cut-off or overdue; elsewhere what can start."""
    today = totals.period.last_day
    order = {code: place for place, code in enumerate(names.stages)}
    for floor in sorted(floors, key=lambda floor: (floor.due_on is None, floor.due_on or today)):
        near = floor.due_on is not None and floor.due_on <= today + AHEAD
        for code, stage in sorted(totals.stage_order.items(), key=lambda item: order.get(item[0], len(order))):
            figures = totals.coming.get((floor.pk, code))
            if figures and (near or figures["ready"]):
                yield {
                    "building": str(floor.building),
                    "floor": str(floor),
                    "due_on": floor.due_on.isoformat() if floor.due_on else None,
                    "overdue": floor.due_on is not None and floor.due_on < today,
                    "stage": code,
                    "trade": str(stage.trade),
                    "to_do": figures["to_do"],
                    "ready": figures["ready"],
                }
