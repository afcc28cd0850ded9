"""Weeks of work on many openings, laid down as the projection has them: for what only counts standings."""

from datetime import UTC, date, datetime, time, timedelta

from django.db import transaction

from inspections.models import StageStanding
from inspections.models.progress import StageState
from openings.models import Building, Floor, Opening, Site
from openings.selectors.plans import prepared_plan
from openings.services.changes import next_numbers
from sitetrack.access.models import Company
from sitetrack.kit.ids import new_id

SKIPPED = {"assemble", "roughin", "flooring"}
BEHIND = timedelta(days=2)  # from one stage of an opening to the next
BEGUN = 0.6  # of the openings, by today
EVENING = time(18, tzinfo=UTC)


@transaction.atomic
def weeks_of_work(site: Site, count: int, *, today: date, weeks: int, floors: int, by: Company) -> list[Opening]:
    """`count` openings of the stud plan, begun in order over so many weeks; all of the work is of one company."""
    plan = site.plans.get(code="steel_stud", current=True)
    stages = prepared_plan(plan.pk).stages
    building = Building.objects.create(site=site, code="A")
    levels = [
        Floor.objects.create(
            site=site, building=building, code=f"L{n}", level=n, due_on=today + timedelta(days=20 * (n + 1))
        )
        for n in range(floors)
    ]
    first = datetime.combine(today - timedelta(weeks=weeks), EVENING)
    openings = [
        Opening(
            id=new_id(), site=site, floor=levels[n * floors // count], number=f"X{n}", plan=plan, seq=seq,
            changed_at=first,
        )
        for n, seq in enumerate(next_numbers(site.pk, count))
    ]  # fmt: skip
    Opening.objects.bulk_create(openings)
    rows: list[StageStanding] = []
    for n, opening in enumerate(openings):
        at = first + timedelta(weeks=weeks) * n / (count * BEGUN)
        for place, stage in enumerate(stages):
            needed = stage.code not in SKIPPED
            at += BEHIND if needed and place else timedelta()
            done = needed and at.date() < today
            state = StageState.DONE if done else StageState.READY if needed else StageState.NOT_NEEDED
            rows.append(
                StageStanding(
                    opening=opening, site=site, floor=opening.floor, stage=stage.code, place=place, trade=stage.trade,
                    state=state, since=at if done else None, weight=stage.weight, company=by if done else None,
                )
            )  # fmt: skip
    StageStanding.objects.bulk_create(rows, batch_size=2000)
    return openings
