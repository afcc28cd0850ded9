"""The site's commit-ordered numbers."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import connection
from django.db.models import F

from openings.models import DirtyOpening, Site
from sitetrack.kit.bulk import insert_rows


def next_numbers(site_id: Any, count: int) -> range:
    """Take `count` numbers from the site's counter; the caller must be in a transaction.

    The update locks the site's row until commit, so numbers become visible in the order they were given: a reader who
    has seen n will never later find a number below n.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("numbers are only safe inside the transaction that uses them")
    Site.objects.filter(pk=site_id).update(change_counter=F("change_counter") + count)
    last = Site.objects.values_list("change_counter", flat=True).get(pk=site_id)
    return range(last - count + 1, last + 1)


def lock_site(site_id: Any) -> None:
    """Wait for, and hold until commit, the lock that every numbered write of a site takes."""
    next_numbers(site_id, 0)


def mark_dirty(site_id: Any, opening_ids: Iterable[Any], now: datetime) -> None:
    """Note that these openings must be worked out again; in the transaction that stores the cause."""
    insert_rows(
        DirtyOpening(site_id=site_id, opening_id=opening_id, marked_at=now) for opening_id in sorted(set(opening_ids))
    )
