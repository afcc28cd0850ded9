"""One push: raw items in, one result an item out, in the order sent. No item sinks another."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from inspections.services.check_ins import MOST_ITEMS, record_check_ins
from inspections.services.reports import ItemResult, Sender
from inspections.services.signing_codes import prove_signers
from inspections.sync.items import Item, read_item, sent_id
from openings.models import Site
from sitetrack.access.models import Device, Membership, Person
from sitetrack.kit.problems import BadInput, NotFound, Problem, TooLarge


@dataclass(frozen=True, slots=True)
class Push:
    """A batch as sent: who, from what (None: a page), by which clock, and the raw items."""

    person: Person
    device: Device | None
    device_time: datetime | None
    check_ins: Sequence[Any]


@dataclass(slots=True)
class Pushed:
    """What became of it: a result for each item, and the openings to be worked out."""

    results: list[ItemResult]
    openings: set[UUID] = field(default_factory=set)


def push(*, batch: Push, now: datetime) -> Pushed:
    """Store a batch, by site; raises `TooLarge` for more items than a batch may have, and for nothing else."""
    if len(batch.check_ins) > MOST_ITEMS:
        raise TooLarge(
            f"The batch has {len(batch.check_ins)} check-ins; at most {MOST_ITEMS} go in one. Send it in parts."
        )
    results: list[ItemResult | None] = [None] * len(batch.check_ins)
    by_site: dict[UUID, list[tuple[int, Item]]] = {}
    for index, raw in enumerate(batch.check_ins):
        try:
            item = read_item(raw)
        except BadInput as problem:
            results[index] = _refused(sent_id(raw), problem, index)
        else:
            by_site.setdefault(item.site, []).append((index, item))
    standings = _standings(batch, by_site)
    for site_id, items in by_site.items():
        if own := standings.get(site_id):
            for (index, _), result in zip(items, _record(batch, own, items, now), strict=True):
                results[index] = result
        else:
            for index, item in items:
                results[index] = _refused(str(item.report.id), _no_such_site(site_id, batch.device), index)
    answered = [result for result in results if result is not None]
    stored = {r.opening_id for r in answered if r.outcome == "stored" and r.opening_id}
    return Pushed(answered, stored)


def _standings(batch: Push, site_ids: Any) -> dict[UUID, list[Membership]]:
    """The sender's standings on each site named, the present or latest first; a phone's token opens its own site only.

    Ended ones too: what was seen before the end may still arrive.
    """
    asked = set(site_ids)
    if batch.device:
        asked &= {batch.device.site_id}
    found = Membership.objects.filter(person=batch.person, site__in=asked).select_related("company", "site")
    standings: dict[UUID, list[Membership]] = {}
    for standing in found.order_by(F("ended_at").desc(nulls_first=True)):
        standings.setdefault(standing.site_id, []).append(standing)
    return standings


def _record(
    batch: Push, standings: Sequence[Membership], items: Sequence[tuple[int, Item]], now: datetime
) -> list[ItemResult]:
    site: Site = standings[0].site
    sender = Sender(batch.person, standings[0], batch.device, others=tuple(standings[1:]))
    reports = [item.report for _, item in items]
    return record_check_ins(
        site=site,
        sender=sender,
        reports=reports,
        device_time=batch.device_time,
        now=now,
        signers=prove_signers(site=site, sender=sender, reports=reports, now=now),
    )


def _no_such_site(site_id: UUID, device: Device | None) -> NotFound:
    mend = "This phone is enrolled for another site: enrol it anew." if device else "Ask its supervisor for a role."
    return NotFound(f"site: there is no site {site_id} that you may report to. {mend}")


def _refused(id_: str | None, problem: Problem, index: int) -> ItemResult:
    return ItemResult(id_, "refused", problem=problem.as_dict() | {"index": index})
