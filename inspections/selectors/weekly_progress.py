"""Progress of a site counted by the database: what each floor needs, and what was done of it, when and by whom.

Done is what the weekly status counts as earned: a stage that stands done at an opening the schedule lists, dated by the
day on which it came to be so. Every function here runs a fixed number of queries, however many openings there are.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

import numpy as np
from django.db.models import Count, F, Window
from django.db.models.functions import RowNumber, TruncDate

from inspections.forecast.job import Done, Job, Step, job_of
from inspections.models import CheckIn, FrameCheck, StageStanding
from inspections.models.checkins import Action, Outcome
from inspections.models.progress import StageState
from openings.models import Floor, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.plan import Plan
from openings.sequence.stage import Mark
from sitetrack.access.models import Company

PROVING = {Mark.PROVES_OPEN_WALL, Mark.PROVES_CLOSED_WALL}
MOST_FLOORS = 200


@dataclass(frozen=True, slots=True)
class DoneOn:
    """So many openings of a floor had a stage done on a day by a company."""

    day: date
    floor: UUID
    plan: UUID
    stage: str
    company: str
    count: int


@dataclass(frozen=True, slots=True)
class Counted:
    """A site counted: its floors as they are walked, what each needs of each (plan, stage), and what was done."""

    floors: tuple[Floor, ...]
    needed: dict[tuple[UUID, str, UUID], int]
    done: tuple[DoneOn, ...]

    @property
    def plans(self) -> tuple[UUID, ...]:
        """The plans in use."""
        return tuple(sorted({plan for plan, _stage, _floor in self.needed}))


@dataclass(frozen=True, slots=True)
class FirstTime:
    """Of so many first readings of a check that a company made, how many passed."""

    company: str
    stage: str
    passed: int
    of: int


def count_site(site: Site) -> Counted:
    """Count a site. Four queries; each plan is read once in a process."""
    floors = tuple(Floor.objects.filter(site=site).select_related("building")[:MOST_FLOORS])
    listed = StageStanding.objects.filter(site=site, opening__in_schedule=True).order_by()
    needed = {
        (plan, stage, floor): n
        for plan, stage, floor, n in listed.exclude(state=StageState.NOT_NEEDED)
        .values_list("opening__plan_id", "stage", "floor_id")
        .annotate(n=Count("pk"))
    }
    names = dict(Company.objects.filter(memberships__site=site).values_list("pk", "name"))
    done = (
        listed.filter(state=StageState.DONE, since__isnull=False)
        .annotate(day=TruncDate("since", tzinfo=site.zone))
        .values_list("day", "floor_id", "opening__plan_id", "stage", "company_id")
        .annotate(n=Count("pk"))
    )
    return Counted(
        floors,
        needed,
        tuple(DoneOn(day, at, plan, stage, names.get(company, ""), n) for day, at, plan, stage, company, n in done),
    )


def job_from(counted: Counted, today: date) -> Job | None:
    """The counts as the forecast takes them, floors in the order of their dates; None before any work. No query."""
    plans = {pk: prepared_plan(pk) for pk in counted.plans}
    steps, place = _steps(plans)
    floors = sorted(counted.floors, key=lambda floor: (floor.due_on is None, floor.due_on or today))
    columns = {floor.pk: column for column, floor in enumerate(floors)}
    needed = np.zeros((len(steps), len(floors)), dtype=np.int64)
    for (plan, stage, floor), count in counted.needed.items():
        if (plan, stage) in place and floor in columns:
            needed[place[plan, stage], columns[floor]] = count
    done = [
        Done(place[each.plan, each.stage], columns[each.floor], each.day, each.count)
        for each in counted.done
        if (each.plan, each.stage) in place and each.floor in columns
    ]
    return job_of(steps, [str(floor.pk) for floor in floors], needed, done, today=today)


def _steps(plans: dict[UUID, Plan]) -> tuple[list[Step], dict[tuple[UUID, str], int]]:
    """The steps of all plans, each after what it waits for, also through a stage that some openings do not need."""
    steps: list[Step] = []
    place: dict[tuple[UUID, str], int] = {}
    for pk, plan in plans.items():
        by_code = {stage.code: stage for stage in plan.stages}
        for code in _in_order(plan):
            stage = by_code[code]
            waits = list(stage.after)
            for before in waits:  # grows while it is walked: whoever skips a stage waits for what that one waits for
                if by_code[before].applies_when is not None:
                    waits += [earlier for earlier in by_code[before].after if earlier not in waits]
            place[pk, code] = len(steps)
            after = tuple(sorted(place[pk, before] for before in waits))
            proves = bool(PROVING & set(stage.marks))
            steps.append(Step(str(pk), code, str(stage.trade), stage.weight, after, proves))
    return steps, place


def _in_order(plan: Plan) -> Sequence[str]:
    order: list[str] = []
    left = {stage.code: set(stage.after) for stage in plan.stages}
    while left:
        free = [code for code, after in left.items() if not after - set(order)]
        order += free
        for code in free:
            del left[code]
    return order


def first_time_passes(site: Site) -> tuple[FirstTime, ...]:
    """How often the first reading of an opening's check passed, by the company that read and by check. One query.

    A reading that was taken back was none. Of the whole site: whoever shows it leaves out what the reader may not see,
    since the first of a crew's own readings need not be the opening's first.
    """
    taken_back = CheckIn.objects.filter(site=site, action=Action.VOID).values("about")
    firsts = (
        FrameCheck.objects.filter(site=site, opening__in_schedule=True)
        .exclude(check_in__in=taken_back)
        .annotate(nth=Window(RowNumber(), partition_by=["opening_id", "stage"], order_by=[F("read_at"), F("pk")]))
        .filter(nth=1)
        .values_list("company__name", "stage", "verdict")
    )
    counts: defaultdict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for company, stage, verdict in firsts:
        counts[company, stage][0] += verdict == Outcome.PASS
        counts[company, stage][1] += 1
    return tuple(FirstTime(*key, passed, of) for key, (passed, of) in sorted(counts.items()))
