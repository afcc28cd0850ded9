"""The whole demo in plain values: the schedule, its revision, and every check-in with the moment it is received."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from random import Random
from zoneinfo import ZoneInfo

from inspections.trueness.opening import NominalOpening
from openings.sequence.plan import Plan
from openings.sequence.plan_document import read_plan
from openings.services.sites import SHIPPED_PLANS
from sitetrack.demo import layout, schedule, story
from sitetrack.demo.days import JobDays, job_days
from sitetrack.demo.entries import Entry, Frame
from sitetrack.demo.names import TIME_ZONE
from sitetrack.demo.phones import DROWNED, Airtime
from sitetrack.demo.work import Job
from sitetrack.kit.lengths import ZERO, parse_length

# Working day on which a floor's frames come, and on which its doors do; what never comes has no day.
FRAMES_COME = {"1": 0, "2": 8, "3": 17}
DOORS_COME = {"1": 14, "2": 23}
REVISED_ON = 12
NOT_YET = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Batch:
    """Check-ins that one phone sent at once."""

    phone: str
    received_at: datetime
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Demo:
    """Everything there is to load, in the order the server would have met it."""

    days: JobDays
    cast: story.Cast
    places: Sequence[layout.Place]
    first_issue: str
    revision: str
    revised_at: datetime
    batches: Sequence[Batch]


def simulate(*, now: datetime, seed: int, count: int) -> Demo:
    """The demo of one seed, as it stands at `now`; the same arguments give the same demo, to the last id."""
    days = job_days(now, ZoneInfo(TIME_ZONE))
    rng = Random(seed)
    places = layout.places(count)
    rows = schedule.first_issue(places, rng)
    plan = read_plan(json.loads((SHIPPED_PLANS / "steel_stud.json").read_text(encoding="utf-8")))
    cast = story.choose(_frames(rows, plan))
    revised = _revised(rows, cast)
    late = story.late_phone(days)
    begins, ends = late.silent(days)
    airtime = Airtime(days, rng, silent=(DROWNED, begins, ends))
    job = Job(
        days=days,
        airtime=airtime,
        frames=_frames(revised, plan),
        gates=lambda stage, floor: _gate(days, stage, floor),
        scripts=story.scripts(cast, late),
        spare_from=days.at(late.friday, "00:00"),
        rng=rng,
    )
    return Demo(
        days=days,
        cast=cast,
        places=places,
        first_issue=schedule.as_csv(rows, issue="Issue 1"),
        revision=schedule.as_csv(revised, issue="Revision 2"),
        revised_at=days.at(days.days[REVISED_ON], "16:10"),
        batches=_batches(job.run(), airtime, now),
    )


def _frames(rows: Sequence[schedule.Row], plan: Plan) -> list[Frame]:
    return [_frame(place, row, plan) for place, row in enumerate(rows)]


def _frame(place: int, row: schedule.Row, plan: Plan) -> Frame:
    thickness = ZERO if row.thickness == "0" else parse_length(row.thickness)
    attributes = {
        "construction": "knocked_down" if row.construction == schedule.KD else "welded",
        "electrified": row.electrified,
        "leaves": row.leaves,
        "rating_minutes": row.rating,
        "covering_thickness": float(thickness.inches),
        "wall_kind": plan.wall_kind,
        "hand": row.hand,
    }
    return Frame(
        number=row.number,
        floor=row.floor,
        place=place,
        attributes=attributes,
        opening=NominalOpening(parse_length(row.width), parse_length(row.height)),
        structure=plan.structure(attributes),
    )


def _revised(rows: Sequence[schedule.Row], cast: story.Cast) -> list[schedule.Row]:
    """The revision: third-floor openings that nothing else is told of, and one whose frame stands already."""
    told = set(story.told_of(cast))
    free = [row.number for row in rows if row.floor == "3" and row.number not in told and row.leaves == 1]
    return schedule.revise(
        rows,
        wider=free[1:4],
        turned=[cast.turned_after_set, *free[4:6]],
        dropped=free[-1],
        added=free[0],
    )


def _gate(days: JobDays, stage: str, floor: str) -> datetime:
    """When a stage can begin on a floor: once its frames, or for the hanger its doors, are on site."""
    day = (DOORS_COME if stage == "hang" else FRAMES_COME).get(floor, len(days.days))
    return days.at(days.days[day], "06:40") if day < len(days.days) else days.until + NOT_YET


def _batches(entries: Sequence[Entry], airtime: Airtime, now: datetime) -> list[Batch]:
    """What reached the server by now, batch by batch, in the order of receipt."""
    sent = []
    for place, entry in enumerate(entries):
        received = airtime.receipt(entry.phone, entry.at)
        if received is not None and received <= now:
            sent.append((received, entry.phone, place, entry))
    sent.sort(key=lambda item: item[:3])
    return [
        Batch(phone, received, tuple(item[3] for item in items))
        for (received, phone), items in groupby(sent, key=lambda item: item[:2])
    ]
