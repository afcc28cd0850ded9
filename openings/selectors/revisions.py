"""Two revisions of the schedule side by side: what the later says otherwise than the earlier, opening by opening.

Nothing is kept of a revision but what it changed, so the difference is what was changed in between: of each fact the
first value before and the last value after. Corrections by hand between the two count; what went back does not show.
"""

from datetime import datetime
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from openings.models import ScheduleChange, ScheduleRevision, Site
from sitetrack.access.models import Person

Kind = ScheduleChange.Kind
GONE = (Kind.MISSING,)


def revisions_of(site: Site, person: Person) -> QuerySet[ScheduleRevision]:
    """The site's revisions, latest first."""
    revisions: QuerySet[ScheduleRevision] = ScheduleRevision.objects.visible_to(person).filter(site=site)
    return revisions.select_related("taken_in_by").order_by("-n")


def changes_by_hand(site: Site, person: Person) -> QuerySet[ScheduleChange]:
    """What people changed by hand, latest first."""
    changes: QuerySet[ScheduleChange] = ScheduleChange.objects.visible_to(person).filter(site=site, revision=None)
    return changes.select_related("opening", "by").order_by("-id")


def differences(site: Site, person: Person, *, after: datetime, until: datetime | None) -> QuerySet[Any]:
    """The last change of each fact in the stretch of time, with `first_before` and `first_kind`, by opening and fact.

    Rows that came back to what they were are left out. A row without a field tells whether the opening is listed.
    """
    stretch: QuerySet[Any] = ScheduleChange.objects.visible_to(person).filter(site=site, at__gt=after)
    if until is not None:
        stretch = stretch.filter(at__lte=until)
    alike = ScheduleChange.objects.filter(site=site, opening=OuterRef("opening"), field=OuterRef("field"), at__gt=after)
    if until is not None:
        alike = alike.filter(at__lte=until)
    first = alike.order_by("id")
    last = stretch.filter(~Exists(alike.filter(id__gt=OuterRef("id"))))
    told = last.annotate(
        first_before=Subquery(first.values("before")[:1]), first_kind=Subquery(first.values("kind")[:1])
    )
    went_back = ~Q(field="") & Q(after=F("first_before"))
    # Listed before and after, or neither: the first change tells what it was, the last what it is.
    listed_as_before = Q(field="") & (
        Q(first_kind=Kind.MISSING, kind=Kind.BACK) | Q(first_kind__in=(Kind.ADDED, Kind.BACK), kind=Kind.MISSING)
    )
    return (
        told.exclude(went_back)
        .exclude(listed_as_before)
        .select_related("opening__floor")
        .order_by("opening__number", "opening_id", "field")
    )
