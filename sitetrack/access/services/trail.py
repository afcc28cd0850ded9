"""The audit trail: every service that changes something records it here, in its own transaction.

    @transaction.atomic
    def set_hold_limit(*, site: Site, days: int, who: Person, now: datetime) -> Site:
        may_or_refuse(...)
        before = facts_of(site, "hold_limit_days")
        site.hold_limit_days = days
        site.save(update_fields=["hold_limit_days"])
        record_change(
            site=site, who=who, now=now, kind=Kind.SITE, act=Act.CHANGED, about=site,
            differences=differing(before, facts_of(site, "hold_limit_days")),
        )
        return site

Something added or removed is recorded with what it was, where that is worth reading later:
`differences={"role": ("", "crew")}`. A reason given by the person goes in the same way: `{"reason": ("", reason)}`.
One act of a person is one row, however many openings it touched: name how many in `about`, and leave the detail to the
record the openings have of their own. Never pass a secret, nor a digest of one: say `{"password": ("", "set")}`.
`who` is None for what the server does by itself. What the sealed record holds (check-ins, sign-offs) is not repeated
here.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import connection, models

from sitetrack.access.models.changes import Act, Kind, RecordedChange
from sitetrack.access.models.people import Person

LONGEST_NAME = 200
LONGEST_VALUE = 2000
MOST_FIELDS = 100

Differences = Mapping[str, tuple[Any, Any]]


def record_change(
    *,
    site: Any,
    who: Person | None,
    now: datetime,
    kind: Kind,
    act: Act,
    about: models.Model | str,
    differences: Differences | None = None,
) -> RecordedChange | None:
    """Add one row; must be called in the transaction of the change it tells of, so that neither stands alone.

    `site` is the site or its key, or None for what belongs to an account only. `about` is what was changed, or its
    name in words. `differences` has (before, after) for each field. A `CHANGED` without any difference records
    nothing; then None comes back.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("a change is recorded in the transaction that makes it")
    told = [[field, _text(before), _text(after)] for field, (before, after) in (differences or {}).items()]
    if act is Act.CHANGED and not told:
        return None
    return RecordedChange.objects.create(
        site_id=site.pk if isinstance(site, models.Model) else site,
        who=who,
        at=now,
        kind=kind,
        act=act,
        about_id=str(about.pk)[:40] if isinstance(about, models.Model) else "",
        named=str(about)[:LONGEST_NAME],
        differences=told[:MOST_FIELDS],
    )


def facts_of(row: models.Model, *fields: str) -> dict[str, Any]:
    """The present values of these fields, to be told apart from those after the change; a key stays a key."""
    return {field: getattr(row, field) for field in fields}


def differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    """Field by field what differs; a field that only one side has counts as empty on the other."""
    fields = [*before, *(field for field in after if field not in before)]
    pairs = {field: (before.get(field), after.get(field)) for field in fields}
    return {field: pair for field, pair in pairs.items() if pair[0] != pair[1]}


def _text(value: Any) -> str:
    """A value as it is read later: nothing for none, plain words of a list, the rest as it says itself."""
    if value is None:
        return ""
    if isinstance(value, list | tuple | set | frozenset):
        value = ", ".join(sorted(map(str, value)) if isinstance(value, set | frozenset) else map(str, value))
    return str(value)[:LONGEST_VALUE]
