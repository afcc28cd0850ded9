"""The days a site looks forward to: holds due, floors to be proved, and when it will be done at its present pace."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import Q, Sum
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.models import Hold, Progress, StageStanding
from inspections.models.progress import StageState
from openings.models import Floor, SequencePlan, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark
from sitetrack.access.models import Person
from sitetrack.reports.handover.calendar_file import Day

PACE_OVER = timedelta(weeks=4)
FARTHEST = timedelta(days=3650)
MOST_HOLDS = 500
MOST_FLOORS = 500
PROVING = (Mark.PROVES_OPEN_WALL, Mark.PROVES_CLOSED_WALL)


def days_of(site: Site, person: Person, now: datetime) -> list[Day]:
    """What this person may see of the days ahead, in the site's language. A fixed number of queries."""
    with translation.override(site.language):
        return [*_holds(site, person), *_floors(site, person), *_forecast(site, person, now)]


def _holds(site: Site, person: Person) -> Iterator[Day]:
    """Each open hold on the day the site's limit for it ends."""
    holds = Hold.objects.visible_to(person).filter(site=site, released_at=None).select_related("opening", "company")
    for hold in holds.order_by("opened_at")[:MOST_HOLDS]:
        number = hold.opening.number
        yield Day(
            key=f"hold-{hold.pk}@{site.pk}",
            on=_day(hold.opened_at, site) + timedelta(days=site.hold_limit_days),
            title=_("Hold to be released: opening %(number)s") % {"number": number},
            notes=f"{hold.reason}\n{hold.company}".strip(),
            link=_link(site, f"openings/{number}"),
        )


def _floors(site: Site, person: Person) -> Iterator[Day]:
    """Each floor with a date and checks still to pass."""
    unproved = (
        StageStanding.objects.visible_to(person)
        .filter(_proving(site), site=site, opening__in_schedule=True)
        .exclude(state__in=(StageState.DONE, StageState.NOT_NEEDED))
        .order_by()
        .values_list("floor_id", "opening_id")
        .distinct()
    )
    left: dict[UUID, int] = {}
    for floor_id, _opening in unproved:
        left[floor_id] = left.get(floor_id, 0) + 1
    floors = Floor.objects.visible_to(person).filter(site=site, pk__in=left).exclude(due_on=None)
    for floor in floors.select_related("building")[:MOST_FLOORS]:
        count = left[floor.pk]
        if floor.due_on:
            yield Day(
                key=f"floor-{floor.pk}@{site.pk}",
                on=floor.due_on,
                title=_("Checks due: %(floor)s") % {"floor": f"{floor}, {floor.building}"},
                notes=ngettext("%(n)d opening not proved yet", "%(n)d openings not proved yet", count) % {"n": count},
                link=_link(site, f"floors/{floor.pk}"),
            )


def _proving(site: Site) -> Q:
    """The standings of stages that prove a frame, each by the codes of its opening's own plan. One query."""
    wanted = Q(pk__in=())
    for plan_id in SequencePlan.objects.filter(openings__site=site).distinct().values_list("pk", flat=True):
        codes = codes_by_mark(prepared_plan(plan_id).stages)
        proving = [code for mark in PROVING for code in codes.get(mark, ())]
        wanted |= Q(opening__plan=plan_id, stage__in=proving)
    return wanted


def _forecast(site: Site, person: Person, now: datetime) -> Iterator[Day]:
    """The day the rest would be done at the pace of the last four weeks; none where nothing was done in them."""
    standing = Progress.objects.visible_to(person).filter(site=site, opening__in_schedule=True)
    sums = standing.aggregate(earned=Sum("earned"), total=Sum("total"))
    left = (sums["total"] or 0) - (sums["earned"] or 0)
    recent = Q(state=StageState.DONE, since__gt=now - PACE_OVER, since__lte=now)
    done = StageStanding.objects.visible_to(person).filter(recent, site=site, opening__in_schedule=True)
    pace = done.aggregate(weight=Sum("weight"))["weight"] or 0
    if left <= 0 or pace <= 0:
        return
    ahead = timedelta(days=-(-left * PACE_OVER.days // pace))
    if ahead > FARTHEST:
        return
    yield Day(
        key=f"forecast@{site.pk}",
        on=_day(now, site) + ahead,
        title=_("All openings finished, at the pace of the last four weeks"),
        notes=_("%(left)d of weight left, %(pace)d earned in four weeks. A projection, not a promise.")
        % {"left": left, "pace": pace},
        link=_link(site, "today"),
    )


def _day(moment: datetime, site: Site) -> date:
    return moment.astimezone(site.zone).date()


def _link(site: Site, path: str) -> str:
    return f"{settings.PUBLIC_URL}/s/{site.code}/{path}"
