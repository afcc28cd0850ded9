"""A status asked for by a person or a program, ahead of the clock or for a week from before the first one issued."""

from datetime import datetime

from django.db import transaction

from openings.models import Site
from openings.services.changes import lock_site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.problems import BadInput, Conflict, FieldError
from sitetrack.reports.keeping import can_be_issued, kept_status
from sitetrack.reports.models import AskedStatus, WeeklyStatus
from sitetrack.reports.snapshot import clock_of
from sitetrack.reports.week import EXAMPLE, Week, WeekError, parse_week


@transaction.atomic
def ask_for_status(*, site: Site, week: str, who: Person, now: datetime) -> tuple[Week, WeeklyStatus | None]:
    """The week that is meant, and its status where one is kept; where none is, it is owed from now on.

    Raises `BadInput` for what is no week or has not begun, `Conflict` until its cut-off has passed and settled: a
    status is issued once, so a figure still on its way would be missing from it for good.
    """
    must(who, site.pk, Right.MANAGE_OUTSIDE)
    try:
        meant = parse_week(week)
        clock = clock_of(site)
        clock.period(meant, now)
    except WeekError as error:
        raise BadInput(str(error), errors=[FieldError("week", str(error), read=week, example=EXAMPLE)]) from error
    lock_site(site.pk)  # or what is being issued at this moment would be asked for once more
    kept = kept_status(site, meant)
    if kept is None:
        due = can_be_issued(clock, meant)
        if now < due:
            raise Conflict(
                f"{meant} of {site.code} can be issued from {rfc3339(due)}. Until then its figures may change."
            )
        _asking, is_new = AskedStatus.objects.get_or_create(site=site, iso_week=str(meant), defaults={"asked_at": now})
        if is_new:
            record_change(site=site, who=who, now=now, kind=Kind.REPORT, act=Act.ADDED, about=str(meant))
    return meant, kept
