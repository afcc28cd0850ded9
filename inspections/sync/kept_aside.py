"""Items kept aside: placed where a supervisor says they belong, or discarded with a reason; in both cases kept.

Two supervisors may look at the same item. Its row is locked before it is looked at, so the second finds it settled.
"""

from dataclasses import replace
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import CheckIn, KeptAside
from inspections.services.check_ins import record_placed
from inspections.services.reports import Sender
from inspections.sync.items import read_item
from openings.models import Opening
from openings.services.changes import next_numbers
from sitetrack.access.models import Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError, NotFound
from sitetrack.kit.undoing import must_be_ones_own_and_recent

LONGEST_REASON = 300


@transaction.atomic
def place_kept_aside(*, item: KeptAside, opening: Opening, stage: str, who: Person, now: datetime) -> CheckIn:
    """Make the item a check-in of this opening and stage, as of when it happened and by whoever reported it.

    Placing it again at the same place gives the same check-in. Raises `Forbidden` for all but supervisors, `Conflict`
    where it was settled otherwise, `NotFound` for an opening of another site, and whatever a push of it would answer.
    """
    item = _lock(item.pk, who)
    if item.settled == KeptAside.Settled.PLACED:
        placed = CheckIn.objects.get(pk=item.pk)
        if (placed.opening_id, placed.stage) == (opening.pk, stage):
            return placed
    _must_wait(item)
    if opening.site_id != item.site_id:
        raise NotFound(_("The opening is not on this item's site. Choose one that is."))
    report = replace(read_item(item.payload).report, opening=opening.number, stage=stage, digest=item.content_digest)
    check_in = record_placed(item=item, report=report, sender=_sender(item), now=now)
    _settle(item, KeptAside.Settled.PLACED, who, f"{opening.number}, {stage}", now)
    _record(item, who, now, Act.PLACED, {"opening": opening.number, "stage": stage})
    return check_in


@transaction.atomic
def discard_kept_aside(*, item: KeptAside, who: Person, why: str, now: datetime) -> KeptAside:
    """Say that an item counts for nothing, and why; the item itself stays. Again with the same reason changes nothing.

    Raises `Forbidden` for all but supervisors, `BadInput` without a reason, `Conflict` where it was settled otherwise.
    """
    item, why = _lock(item.pk, who), why.strip()
    if not 0 < len(why) <= LONGEST_REASON:
        expected = f"1 to {LONGEST_REASON} characters"
        error = FieldError("why", "no reason that can be kept", f"{len(why)} characters", expected, "Sent by mistake.")
        raise BadInput(_("An item is discarded with a reason that others can read later."), errors=[error])
    if (item.settled, item.settled_why) == (KeptAside.Settled.DISCARDED, why):
        return item
    _must_wait(item)
    _record(item, who, now, Act.DISCARDED, {"reason": why})
    return _settle(item, KeptAside.Settled.DISCARDED, who, why, now)


@transaction.atomic
def take_back_discarding(*, item: KeptAside, who: Person, now: datetime) -> KeptAside:
    """Let a discarded item wait again; by who discarded it, soon after.

    Raises `Forbidden` for all but supervisors, `Conflict` where it is too late or no longer discarded.
    """
    item = _lock(item.pk, who)
    discarded_at = item.settled_at if item.settled == KeptAside.Settled.DISCARDED else None
    must_be_ones_own_and_recent(done_by=item.settled_by, done_at=discarded_at, who=who, now=now)
    _record(item, who, now, Act.RESTORED, {})
    return _settle(item, "", None, "", None)


def _lock(key: UUID, who: Person) -> KeptAside:
    item = (
        KeptAside.objects.select_for_update(of=("self",))
        .select_related("site", "person", "company", "device")
        .get(pk=key)
    )
    must(who, item.site_id, Right.SETTLE_KEPT_ASIDE)
    return item


def _must_wait(item: KeptAside) -> None:
    if item.settled:
        told = (
            _("Already placed by %(who)s: %(why)s. Nothing was changed.")
            if item.settled == KeptAside.Settled.PLACED
            else _("Already discarded by %(who)s: %(why)s. Nothing was changed.")
        )
        raise Conflict(told % {"who": item.settled_by, "why": item.settled_why})


def _sender(item: KeptAside) -> Sender:
    """Whoever reported it, in the role and for the company of then; trades as they last were there."""
    then = Membership.objects.filter(site=item.site_id, person=item.person_id, company=item.company_id)
    latest = then.order_by("-began_at").first()
    trades = latest.trades if latest else []
    standing = Membership(site=item.site, person=item.person, company=item.company, role=item.role, trades=trades)
    return Sender(item.person, standing, item.device)


def _record(item: KeptAside, who: Person, now: datetime, act: Act, said: dict[str, str]) -> None:
    record_change(
        site=item.site_id, who=who, now=now, kind=Kind.KEPT_ASIDE, act=act, about=item,
        differences={"reported by": ("", item.person)} | {name: ("", text) for name, text in said.items()},
    )  # fmt: skip


def _settle(item: KeptAside, settled: str, who: Person | None, why: str, now: datetime | None) -> KeptAside:
    next_numbers(item.site_id, 1)  # pages that follow the site's changes see that one less waits
    item.settled, item.settled_by, item.settled_why, item.settled_at = settled, who, why, now
    item.save(update_fields=["settled", "settled_by", "settled_why", "settled_at"])
    return item
