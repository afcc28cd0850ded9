"""What the curve of sheet F-12 is drawn from: planned, done and forecast of a part of the job, week by week."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate
from typing import Any
from uuid import UUID

from inspections.forecast.planned import planned_by
from inspections.selectors.weekly_progress import Counted
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Stage

WEEK = timedelta(days=7)
MOST_WEEKS_BACK = 104
MOST_WEEKS_AHEAD = 104

StageOf = Mapping[tuple[UUID, str], Stage]


@dataclass(frozen=True, slots=True)
class Part:
    """What a curve is of: the site (`of` "site"), a trade or a floor, by its key."""

    of: str = "site"
    key: str = ""

    def has(self, stage: Stage, floor: UUID) -> bool:
        """Whether a stage on a floor belongs to it."""
        if self.of == "trade":
            return str(stage.trade) == self.key
        return self.of == "site" or str(floor) == self.key


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """By the evening of a day, in per cent of the part's weight; None where there is nothing to tell."""

    on: date
    planned: float | None
    done: float | None
    low: float | None
    median: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Curve:
    """Points a week apart, the one of `stands` being the morning that the forecast stands on. `total` is weight."""

    points: tuple[CurvePoint, ...]
    stands: date
    total: int

    @property
    def now(self) -> CurvePoint:
        """The last point that has what was done."""
        return [point for point in self.points if point.done is not None][-1]


def stages_of(counted: Counted) -> StageOf:
    """Every stage of the plans in use. Each plan is read once in a process."""
    return {(plan, stage.code): stage for plan in counted.plans for stage in prepared_plan(plan).stages}


def curve_of(
    counted: Counted, part: Part, told: Mapping[str, Any] | None, *, starts: date | None, today: date
) -> Curve:
    """The curve of a part, by evenings a week apart; its band joins what was done by the eve of the forecast.

    Without a forecast they are counted from yesterday's. Today is not told: it is not over. `starts` is when the job
    was to begin; its first work where that is earlier or nobody said.
    """
    stages = stages_of(counted)
    weights: dict[UUID, int] = {}
    for (plan, code, floor), count in counted.needed.items():
        if (plan, code) in stages and part.has(stages[plan, code], floor):
            weights[floor] = weights.get(floor, 0) + stages[plan, code].weight * count
    by_day: dict[date, int] = {}
    for each in counted.done:
        stage = stages.get((each.plan, each.stage))
        if stage and part.has(stage, each.floor):
            by_day[each.day] = by_day.get(each.day, 0) + stage.weight * each.count
    first = min([*by_day, *([starts] if starts else []), today])
    band = {point[0]: point[1:] for point in _band(told, part)}
    due = [(weights.get(floor.pk, 0), floor.due_on) for floor in counted.floors]
    eve = (min(band) - WEEK) if band else today - timedelta(days=1)
    last = max([eve, *band, *(day for weight, day in due if weight and day)])
    total = sum(weights.values())
    evenings = _evenings(eve, first, last)
    earned = _earned_by(by_day, evenings)
    planned = any(weight and day for weight, day in due)
    points = tuple(
        CurvePoint(
            on,
            _share(planned_by(on, first, due), total) if planned else None,
            _share(earned[on], total) if on < today else None,
            *(
                _share(weight, total)
                for weight in band.get(on, (earned[on],) * 3 if band and on == eve else (None,) * 3)
            ),
        )
        for on in evenings
    )
    return Curve(points, eve + timedelta(days=1), total)


def _band(told: Mapping[str, Any] | None, part: Part) -> list[tuple[date, float, float, float]]:
    for band in told["bands"] if told else ():
        if (band["of"], band["key"]) == (part.of, part.key):
            return [(date.fromisoformat(on), low, median, high) for on, low, median, high in band["points"]]
    return []


def _evenings(eve: date, first: date, last: date) -> list[date]:
    back = min(MOST_WEEKS_BACK, max(1, -(-(eve - first).days // WEEK.days)))
    ahead = min(MOST_WEEKS_AHEAD, max(0, -(-(last - eve).days // WEEK.days)))
    return [eve + WEEK * week for week in range(-back, ahead + 1)]


def _earned_by(by_day: Mapping[date, int], evenings: list[date]) -> dict[date, int]:
    """The weight earned in all by each of these evenings."""
    between = [0] * len(evenings)
    for day, weight in by_day.items():
        place = max(0, -(-(day - evenings[0]).days // WEEK.days))
        if place < len(between):
            between[place] += weight
    return dict(zip(evenings, accumulate(between), strict=True))


def _share(weight: float | None, total: int) -> float | None:
    return None if weight is None or not total else min(100.0, weight * 100 / total)
