"""One page of a pull: first the site's own records where they changed, then what is numbered, in commit order.

Why a reader skips nothing: a number is taken under the lock of the site's row, which is held until commit. So once the
site's counter reads n, everything numbered up to n has been committed. The counter is read before anything else, and
nothing numbered beyond it is told on this page, even if a later query of the same page already sees it. A row that is
changed again meanwhile has moved to a number beyond, and is told then.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import CheckIn
from inspections.sync.cursor import Cursor, read_cursor, short_digest
from inspections.sync.numbered import Span, numbered_changes
from inspections.sync.site_records import Change, site_records
from openings.models import Site
from sitetrack.access.models import Device, Membership, Person
from sitetrack.kit.problems import NotFound

USUAL_CHANGES = 500
MOST_CHANGES = 1000
NO_WITNESS = short_digest(None)


@dataclass(frozen=True, slots=True)
class Pull:
    """Who asks, from what (None: a page or a program signed in), for which site, from where on, and how much."""

    person: Person
    device: Device | None
    site_id: UUID
    cursor: str = ""
    limit: int = USUAL_CHANGES


@dataclass(frozen=True, slots=True)
class Page:
    """Changes, and the cursor behind them; `reset`: what was pulled before no longer counts, this begins anew."""

    cursor: str
    more: bool
    reset: bool
    changes: list[Change]

    def as_dict(self) -> dict[str, Any]:
        """The page as it is answered."""
        return {"cursor": self.cursor, "more": self.more, "reset": self.reset, "changes": self.changes}


def pull(*, asked: Pull, now: datetime) -> Page:
    """The next page for this person; raises `NotFound` for a site they have no role on, and nothing else.

    A page has at most `limit` changes; more only where one opening alone, with its holds, has more.
    """
    standing = _standing(asked)
    site, counter = standing.site, standing.site.change_counter  # read first, see above
    records = site_records(standing)
    cursor = _cursor_to_go_on_from(asked.cursor, standing, now)
    reset = bool(asked.cursor) and cursor is None
    if cursor is None:
        cursor = Cursor(_scope(standing), records.digest, 0, 0, counter, NO_WITNESS, 0)
    elif cursor.told != records.digest:
        cursor = replace(cursor, told=records.digest, told_count=0)
    changes = records.part(cursor.told_count, asked.limit)
    told_count = cursor.told_count + len(changes)
    position, more = cursor.position, True
    if len(changes) < asked.limit:
        position, more = _add_numbered(changes, asked, Span(site, asked.person, position, counter, cursor.since))
    witness = cursor.witness if position == cursor.position else _witness(site, position)
    after = replace(cursor, told_count=told_count, position=position, witness=witness, at=int(now.timestamp()))
    return Page(after.text(), more, reset, changes)


def _add_numbered(changes: list[Change], asked: Pull, span: Span) -> tuple[int, bool]:
    """Fill the page with numbered changes; the position it then stands at, and whether there is more."""
    room = asked.limit - len(changes)
    position = span.after
    for numbered in numbered_changes(span, room + 1):
        if changes and len(numbered.changes) > room:
            return position, True
        changes += numbered.changes
        room -= len(numbered.changes)
        position = numbered.number
    return span.upto, False


def _standing(asked: Pull) -> Membership:
    standings = Membership.objects.filter(person=asked.person, site=asked.site_id, ended_at=None)
    standing = standings.select_related("site", "company", "person").first()
    if standing is None or (asked.device and asked.device.site_id != asked.site_id):
        raise NotFound(f"site: there is no site {asked.site_id} that you may see. Enroll this phone for it first.")
    return standing


def _cursor_to_go_on_from(text: str, standing: Membership, now: datetime) -> Cursor | None:
    """The cursor if it still holds; None for a first load, and where the phone has to start over.

    It does not hold when it is too old, when its owner is now someone else on the site, or when the server was put
    back to a backup: then the counter is behind it, or at its position stands another check-in than stood there.
    """
    cursor = read_cursor(text) if text else None
    if cursor is None or cursor.expired(now) or cursor.scope != _scope(standing):
        return None
    if cursor.position > standing.site.change_counter or cursor.witness != _witness(standing.site, cursor.position):
        return None
    return cursor


def _scope(standing: Membership) -> str:
    """What decides on what a phone may see. A standing is ended, not changed, when its person changes company."""
    return short_digest(standing.pk, standing.role, standing.company_id, sorted(standing.trades))


def _witness(site: Site, position: int) -> str:
    """Digest of the last check-in at a position. Check-ins are never changed: another one means another past."""
    last = CheckIn.objects.filter(site=site, seq__lte=position).order_by("-seq").values_list("pk", flat=True).first()
    return short_digest(last)
