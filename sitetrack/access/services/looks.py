"""What a person has seen of a site: told by opening the sheet again later, or by saying so."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from sitetrack.access.models import Look, Person

# Opening the sheet again within this time is the same visit: what was new stays new. Chosen here.
SAME_VISIT = timedelta(minutes=30)
FIRST_SPAN = timedelta(hours=24)
LONGEST_SPAN = timedelta(days=14)  # a sheet tells of no more than that


def seen_since(*, site_id: Any, who: Person, now: datetime) -> datetime:
    """Since when what came in is new to this person; changes nothing."""
    look = Look.objects.filter(site=site_id, person=who).first()
    return _since(look, now) if look else now - FIRST_SPAN


@transaction.atomic
def note_look(*, site_id: Any, who: Person, now: datetime) -> datetime:
    """Note that a person opened the sheet, and return since when what came in is new to them.

    The first opening after a pause begins a visit: what came in since the last opening before it is new, until the
    next visit. A page that refreshes itself is not an opening, so nothing is counted as seen behind a person's back.
    """
    look, first = Look.objects.select_for_update().get_or_create(
        site_id=site_id, person=who, defaults={"since": now - FIRST_SPAN, "looked_at": now}
    )
    if first:
        return look.since
    if now - look.looked_at > SAME_VISIT:
        look.since = look.looked_at
    look.looked_at = max(look.looked_at, now)
    look.save(update_fields=["since", "looked_at"])
    return _since(look, now)


@transaction.atomic
def mark_seen(*, site_id: Any, who: Person, until: datetime, now: datetime) -> datetime:
    """Say that all that came in until then is seen; returns since when it was new, for an Undo.

    `until` is when the sheet in front of the person was drawn, so that what came in meanwhile stays new.
    """
    look, _first = Look.objects.select_for_update().get_or_create(
        site_id=site_id, person=who, defaults={"since": now - FIRST_SPAN, "looked_at": now}
    )
    before, look.since = look.since, min(until, now)
    look.save(update_fields=["since"])
    return before


def _since(look: Look, now: datetime) -> datetime:
    return max(look.since, now - LONGEST_SPAN)
