"""The secret address of a person's calendar of a site."""

import hashlib
import secrets
from datetime import datetime

from django.db import transaction

from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.scope import membership_of
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import Forbidden
from sitetrack.reports.models import CalendarKey


@transaction.atomic
def new_calendar_key(*, site: Site, who: Person, now: datetime) -> str:
    """Make the key of a person's calendar, told once; the one before it opens nothing any more."""
    if membership_of(who, site.pk) is None:
        raise Forbidden("You have no role on this site.")
    key = secrets.token_urlsafe(32)
    CalendarKey.objects.update_or_create(site=site, person=who, defaults={"digest": _digest(key), "made_at": now})
    record_change(site=site, who=who, now=now, kind=Kind.CALENDAR, act=Act.ADDED, about=who)
    return key


def calendar_of(key: str) -> CalendarKey | None:
    """Whose calendar a key opens; None for a key that opens nothing, or whose person has left the site."""
    found = (
        CalendarKey.objects.select_related("site", "person").filter(digest=_digest(key), person__is_active=True).first()
    )
    return found if found and membership_of(found.person, found.site_id) else None


def _digest(key: str) -> str:
    # A key of 256 random bits can't be guessed from its digest; what is stored opens nothing by itself.
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
