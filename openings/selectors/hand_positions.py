"""Which openings stand on the plan where a person set them, and not where a schedule had them.

Told from the record alone: what a revision said last, or what stood there before the first move by hand, beside what
stands there now. Whoever moves an opening back to where the schedule has it leaves nothing to be kept.
"""

from collections.abc import Collection
from typing import Any

from openings.models import Opening, ScheduleChange

AXES = ("x", "y")


def set_by_hand(openings: Collection[Opening]) -> set[Any]:
    """The keys of those of these openings whose position is a person's, taken off the plan by one included."""
    moves = ScheduleChange.objects.filter(opening__in=[each.pk for each in openings], field__in=AXES).order_by("id")
    told: dict[tuple[Any, str], str] = {}
    for pk, axis, revision, before, after in moves.values_list("opening", "field", "revision", "before", "after"):
        if revision is not None:
            told[pk, axis] = after
        else:
            told.setdefault((pk, axis), before)
    now = {each.pk: each for each in openings}
    return {pk for (pk, axis), text in told.items() if _metres(text) != getattr(now[pk], axis)}


def _metres(text: str) -> float | None:
    return float(text) if text else None
